// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import java.io.ByteArrayOutputStream;
import java.io.IOException;
import java.io.PrintStream;
import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.DecodedFrame;
import org.evenstop.batch.media.TestClip;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.solve.Correction;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/**
 * The same frames through the engine, through {@code render} into a lossless 4:4:4 file and through the plug-in in the headless
 * host differ by at most one 10-bit code anywhere.
 */
class ThreeDoorsTest {
    private static final int WIDTH = 192;
    private static final int HEIGHT = 108;
    private static final int FRAMES = 2;
    private static final LumaStandard BT709 = LumaStandard.BT709;
    private static final CodeDepth DEPTH = CodeDepth.BITS10;

    private static Path host;
    private static Path bundle;

    @TempDir
    Path folder;

    @BeforeAll
    static void findPlugin() {
        Path home = Path.of("").toAbsolutePath();
        while (home != null && !Files.exists(home.resolve("CMakeLists.txt"))) {
            home = home.getParent();
        }
        Path build = home == null ? Path.of("build") : home.resolve("build");
        host = build.resolve("bin/ofxhost");
        bundle = build.resolve("Evenstop.ofx.bundle");
        boolean built = Files.isExecutable(host) && Files.isDirectory(bundle);
        // The launcher builds both before it starts the tests; without it there may be no plug-in to compare with.
        assertTrue(built || System.getenv("EVENSTOP_VERIFYING") == null, "the plug-in or its host is missing under " + build);
        assumeTrue(built, "skipped: no plug-in under " + build + "; run ./evenstop verify");
    }

    /** An underexposed picture with every hue; with {@code extremes} also codes from 4 to 1019. */
    private static int code(boolean extremes, int frame, int plane, int x, int y) {
        if (extremes && y < 2) {
            return plane == 0 ? 4 + (2 * x + y) * 1015 / (2 * WIDTH - 1) : 512;
        }
        double luma = 0.05 + 0.38 * x / WIDTH + 0.05 * ((x / 8 + y / 8 + frame) % 2);
        double hue = 2 * Math.PI * y / HEIGHT;
        return switch (plane) {
            case 0 -> DEPTH.roundedCodeOfLevel(luma);
            case 1 -> DEPTH.roundedCodeOfChroma(0.10 * luma * Math.cos(hue));
            default -> DEPTH.roundedCodeOfChroma(0.10 * luma * Math.sin(hue));
        };
    }

    private static PlanarFrame picture(boolean extremes, int frame) {
        PlanarFrame picture = PlanarFrame.allocate(WIDTH, HEIGHT, ChromaSampling.S444, DEPTH, BT709, false, true, false);
        for (int y = 0; y < HEIGHT; y++) {
            for (int x = 0; x < WIDTH; x++) {
                picture.setLumaCode(x, y, code(extremes, frame, 0, x, y));
                picture.setCbCode(x, y, code(extremes, frame, 1, x, y));
                picture.setCrCode(x, y, code(extremes, frame, 2, x, y));
            }
        }
        return picture;
    }

    @Test
    void engineRenderAndPluginGiveOnePicture() throws Exception {
        Doors doors = walk(true);
        assertTrue(Math.abs(doors.correction.origin().stops()) > 0.5, "the test picture must need a real correction, not "
            + doors.correction.origin().stops() + " stops");
        compare("render against engine", doors.engine, doors.rendered, 1);
        compare("plug-in in float against engine", doors.engine, plugin(doors, "float", true), 1);
    }

    @Test
    void pluginInSixteenBitGivesThePictureToo() throws Exception {
        // 16-bit images hold 0 to 100 % only, so this picture stays inside, before and after.
        Doors doors = walk(false);
        compare("plug-in in 16 bit against engine", doors.engine, plugin(doors, "short", false), 1);
    }

    private record Doors(Correction correction, String json, List<double[][]> engine, List<double[][]> rendered) {
    }

    private Doors walk(boolean extremes) throws IOException {
        Path clip = folder.resolve("scene.mkv");
        TestClip.make().format("yuv444p10le").size(WIDTH, HEIGHT).frames(FRAMES)
            .paint((frame, plane, x, y) -> code(extremes, frame, plane, x, y)).write(clip);
        Path out = folder.resolve("out");
        ByteArrayOutputStream messages = new ByteArrayOutputStream();
        int status = Main.run(new String[] {"render", clip.toString(), "--out", out.toString(), "--codec", "ffv1"},
            new PrintStream(new ByteArrayOutputStream(), true, StandardCharsets.UTF_8), new PrintStream(messages, true, StandardCharsets.UTF_8));
        assertEquals(0, status, () -> messages.toString(StandardCharsets.UTF_8));
        String json = Files.readString(out.resolve("scene.correction.json"));
        Correction correction = EvenstopFiles.correctionFromJson(json, "scene.correction.json");
        List<double[][]> engine = new ArrayList<>();
        for (int i = 0; i < FRAMES; i++) {
            PlanarFrame source = picture(extremes, i);
            PlanarFrame result = source.allocateLike();
            new ScalarKernel().apply(source, result, 0, HEIGHT, correction, 1f);
            engine.add(codes(result));
        }
        Path file;
        try (var files = Files.list(out)) {
            file = files.filter(f -> !f.toString().endsWith(".json")).findFirst().orElseThrow();
        }
        List<double[][]> rendered = new ArrayList<>();
        try (ClipReader reader = ClipReader.open(file)) {
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                assertEquals(ChromaSampling.S444, frame.picture().sampling());
                rendered.add(codes(frame.picture()));
                frame.release();
            }
        }
        return new Doors(correction, json, engine, rendered);
    }

    private static double[][] codes(PlanarFrame frame) {
        double[][] codes = new double[3][WIDTH * HEIGHT];
        for (int y = 0; y < HEIGHT; y++) {
            for (int x = 0; x < WIDTH; x++) {
                codes[0][y * WIDTH + x] = frame.lumaCode(x, y);
                codes[1][y * WIDTH + x] = frame.cbCode(x, y);
                codes[2][y * WIDTH + x] = frame.crCode(x, y);
            }
        }
        return codes;
    }

    /** Renders the frames in the headless host and returns them as Y'CbCr codes, not rounded but held in the video range. */
    private List<double[][]> plugin(Doors doors, String depth, boolean extremes) throws Exception {
        boolean isFloat = depth.equals("float");
        int bytes = isFloat ? 4 : 2;
        ByteBuffer in = ByteBuffer.allocate(FRAMES * WIDTH * HEIGHT * 4 * bytes).order(ByteOrder.nativeOrder());
        for (int i = 0; i < FRAMES; i++) {
            PlanarFrame source = picture(extremes, i);
            for (int p = 0; p < WIDTH * HEIGHT; p++) {
                double y = DEPTH.levelOfCode(source.lumaCode(p % WIDTH, p / WIDTH));
                double r = y + BT709.crDivisor() * DEPTH.chromaOfCode(source.crCode(p % WIDTH, p / WIDTH));
                double b = y + BT709.cbDivisor() * DEPTH.chromaOfCode(source.cbCode(p % WIDTH, p / WIDTH));
                double g = (y - BT709.redWeight() * r - BT709.blueWeight() * b) / BT709.greenWeight();
                for (double v : new double[] {r, g, b, 1}) {
                    if (isFloat) {
                        in.putFloat((float) v);
                    } else {
                        assertTrue(v >= 0 && v <= 1, "the picture leaves the range of 16-bit images");
                        in.putShort((short) Math.round(v * 65535));
                    }
                }
            }
        }
        Path source = folder.resolve("in." + depth);
        Path result = folder.resolve("out." + depth);
        Files.write(source, in.array());
        Process process = new ProcessBuilder(host.toString(), "render", bundle.toString(), "--in", "raw:" + source, "--size",
            WIDTH + "x" + HEIGHT, "--depth", depth, "--frames", "0-" + (FRAMES - 1), "--set", "correction=" + doors.json,
            "--out", result.toString()).redirectErrorStream(true).start();
        String said = new String(process.getInputStream().readAllBytes(), StandardCharsets.UTF_8);
        assertEquals(0, process.waitFor(), said);
        ByteBuffer back = ByteBuffer.wrap(Files.readAllBytes(result)).order(ByteOrder.nativeOrder());
        List<double[][]> frames = new ArrayList<>();
        for (int i = 0; i < FRAMES; i++) {
            double[][] codes = new double[3][WIDTH * HEIGHT];
            for (int p = 0; p < WIDTH * HEIGHT; p++) {
                double[] v = new double[4];
                for (int c = 0; c < 4; c++) {
                    v[c] = isFloat ? back.getFloat() : (back.getShort() & 0xffff) / 65535.0;
                }
                double y = BT709.luma(v[0], v[1], v[2]);
                codes[0][p] = held(DEPTH.codeOfLevel(y));
                codes[1][p] = held(512 + 896 * (v[2] - y) / BT709.cbDivisor());
                codes[2][p] = held(512 + 896 * (v[0] - y) / BT709.crDivisor());
            }
            frames.add(codes);
        }
        return frames;
    }

    private static double held(double code) {
        return Math.min(Math.max(code, DEPTH.lowestVideoCode()), DEPTH.highestVideoCode());
    }

    private static void compare(String what, List<double[][]> expected, List<double[][]> found, double tolerance) {
        assertEquals(expected.size(), found.size(), what + ": frames");
        double worst = 0;
        for (int i = 0; i < expected.size(); i++) {
            for (int plane = 0; plane < 3; plane++) {
                for (int p = 0; p < WIDTH * HEIGHT; p++) {
                    worst = Math.max(worst, Math.abs(expected.get(i)[plane][p] - found.get(i)[plane][p]));
                }
            }
        }
        assertTrue(worst <= tolerance, what + ": " + worst + " codes apart");
    }
}
