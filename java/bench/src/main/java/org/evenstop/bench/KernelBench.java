// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.function.Consumer;
import java.util.function.DoubleSupplier;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;

/** The groups of rows that are timed in this process, each group against its own copies. */
final class KernelBench implements AutoCloseable {
    static final int WIDTH = 3840;
    static final int HEIGHT = 2160;
    /** Measuring is the engine's, whichever kernel corrects. */
    static final String MEASURED_BY = "engine";
    static final String EVERY_PIXEL = "measure all";
    static final String SAMPLED = "measure";
    static final String HISTOGRAM = "luma and zones";
    /** A quarter of a UHD frame is HD, which is counted whole. */
    private static final int MEASURED_PARTS = 4;
    private static final double FLOAT_SECONDS = 10;
    private static final double OTHER_SECONDS = 2.5;

    private final Results results;
    private final Consumer<String> progress;
    private final CorrectionKernel kernel = KernelUnderTest.get();
    private final CorrectionKernel scalar = new ScalarKernel();
    private final List<Crew> crews = List.of(new Crew(1), new Crew(2));

    KernelBench(Results results, Consumer<String> progress) {
        this.results = results;
        this.progress = progress;
    }

    private boolean isVector() {
        return !kernel.name().equals(scalar.name());
    }

    /** RGBA float: all passes, C, general libraries, measuring. */
    void rgbaFloat() {
        progress.accept("rgba float");
        PackedRows rows = new PackedRows(WIDTH, HEIGHT, SampleDepth.FLOAT, crews);
        for (Corrections pass : Corrections.values()) {
            rows.kernel(kernel, pass);
        }
        if (isVector()) {
            rows.kernel(scalar, Corrections.ALL);
        }
        for (boolean forThisProcessor : new boolean[] {false, true}) {
            if (CurvesInC.isThere(forThisProcessor)) {
                rows.inC(forThisProcessor);
            } else {
                results.absent("C at -O3" + (forThisProcessor ? " -march=native" : "") + ": build/lib/libevenstop_bench is not built with it");
            }
        }
        measuring(rows);
        List<AutoCloseable> open = new ArrayList<>();
        try {
            ffmpeg(rows, open);
            openColorIo(rows, open);
            openCv(rows, open);
            RoundRobin.run(rows.rows, FLOAT_SECONDS);
        } finally {
            open.forEach(KernelBench::closeQuietly);
        }
        results.add(rows.rows);
    }

    private static void closeQuietly(AutoCloseable one) {
        try {
            one.close();
        } catch (Exception unlikely) {
            throw new IllegalStateException(unlikely);
        }
    }

    /**
     * Measuring as it is done, a frame of a clip on one thread, of which the engine counts a part when it is larger than HD; and every pixel, in
     * parts that it counts whole, each by a meter of its own, which together keep as many pixels as one frame does. What a meter finds is the same each time.
     */
    private void measuring(PackedRows rows) {
        PackedFrame whole = rows.source;
        measuringClips(rows);
        List<PackedFrame> parts = new ArrayList<>();
        for (int i = 0; i < MEASURED_PARTS; i++) {
            int top = HEIGHT * i / MEASURED_PARTS;
            int height = HEIGHT * (i + 1) / MEASURED_PARTS - top;
            parts.add(new PackedFrame(whole.memory(), whole.rowOffset(top), whole.strideBytes(), whole.width(), height, whole.components(),
                whole.depth(), whole.alpha()));
        }
        measuring(rows, EVERY_PIXEL, crews, parts, ClipMeter.DEFAULT_SAMPLE_SIZE / MEASURED_PARTS);
        for (boolean forThisProcessor : new boolean[] {false, true}) {
            if (CurvesInC.isThere(forThisProcessor)) {
                measuringInC(rows, parts, forThisProcessor);
            }
        }
    }

    /** The parts' results are apart, as the engine's are. */
    private void measuringInC(PackedRows rows, List<PackedFrame> parts, boolean forThisProcessor) {
        String who = forThisProcessor ? "C -O3 -march=native" : "C -O3";
        long address = TestPicture.address(rows.source.memory());
        for (int i = 0; i < crews.size(); i++) {
            Crew crew = crews.get(i);
            MeasuringInC histogram = new MeasuringInC(parts, address, false, forThisProcessor);
            rows.library(HISTOGRAM, who, i + 1, () -> crew.run((from, to) -> histogram.histogram(from / Crew.BAND), parts.size() * Crew.BAND),
                () -> histogram.checkHistogram(who));
        }
        for (int i = 0; i < crews.size(); i++) {
            Crew crew = crews.get(i);
            MeasuringInC all = new MeasuringInC(parts, address, true, forThisProcessor);
            rows.library(EVERY_PIXEL, who, i + 1, () -> crew.run((from, to) -> all.measure(from / Crew.BAND), parts.size() * Crew.BAND),
                () -> all.checkMeasure(who));
        }
    }

    /** A meter has as many frames as are sampled of a clip, then the next begins. */
    private static void measuringClips(PackedRows rows) {
        ClipMeter[] running = {new ClipMeter(LumaStandard.BT709)};
        String[] first = new String[1];
        rows.library(SAMPLED, MEASURED_BY, 1, () -> {
            if (running[0].frames() == ClipMeter.DEFAULT_FRAMES) {
                running[0] = new ClipMeter(LumaStandard.BT709);
            }
            running[0].add(rows.source, 0);
        }, () -> {
            ClipMeter clip = new ClipMeter(LumaStandard.BT709);
            for (int i = 0; i < ClipMeter.DEFAULT_FRAMES; i++) {
                clip.add(rows.source, i);
            }
            String found = EvenstopFiles.toJson(clip.finish("test picture"), true);
            if (first[0] != null && !first[0].equals(found)) {
                throw new WrongResultException("measuring the same clip twice gives two measurements");
            }
            first[0] = found;
        });
    }

    private static void measuring(PackedRows rows, String pass, List<Crew> crews, List<PackedFrame> parts, int sampleSize) {
        for (int i = 0; i < crews.size(); i++) {
            Crew crew = crews.get(i);
            String[] found = new String[parts.size()];
            String[] first = new String[parts.size()];
            Crew.Bands bands = (from, to) -> {
                for (int part = from / Crew.BAND; part * Crew.BAND < to; part++) {
                    ClipMeter meter = new ClipMeter(LumaStandard.BT709, sampleSize);
                    meter.add(parts.get(part), 0);
                    if (found[part] == null) {
                        found[part] = EvenstopFiles.toJson(meter.finish("test picture"), true);
                    }
                }
            };
            rows.library(pass, MEASURED_BY, i + 1, () -> crew.run(bands, parts.size() * Crew.BAND), () -> {
                for (int part = 0; part < found.length; part++) {
                    if (found[part] == null || first[part] != null && !first[part].equals(found[part])) {
                        throw new WrongResultException("measuring the same frame twice gives two measurements");
                    }
                    first[part] = found[part];
                    found[part] = null;
                }
            });
        }
    }

    private void ffmpeg(PackedRows rows, List<AutoCloseable> open) {
        Path folder;
        try {
            folder = Files.createTempDirectory("evenstop-bench");
            Path cube = folder.resolve("look.cube");
            Path tone = folder.resolve("tone.cube");
            LookUpTables.writeCube(cube, LookUpTables.cube(Corrections.ALL.correction()));
            LookUpTables.writeTone(tone, LookUpTables.tone(Corrections.ALL.correction()));
            for (int threads = 1; threads <= crews.size(); threads++) {
                FfmpegFilter lut3d = new FfmpegFilter("lut3d=file=" + cube + ":interp=tetrahedral", rows.source, threads);
                open.add(lut3d);
                rows.library("3-D table", "FFmpeg", threads, lut3d::run,
                    () -> Proofs.alike("FFmpeg lut3d", rows.source, lut3d::at, Corrections.ALL.correction()));
            }
            for (int threads = 1; threads <= crews.size(); threads++) {
                FfmpegFilter lut1d = new FfmpegFilter("lut1d=file=" + tone + ":interp=linear", rows.source, threads);
                open.add(lut1d);
                rows.library("1-D table", "FFmpeg", threads, lut1d::run,
                    () -> Proofs.alike("FFmpeg lut1d", rows.source, lut1d::at, Corrections.TONE.correction()));
            }
            Files.delete(cube);
            Files.delete(tone);
            Files.delete(folder);
        } catch (LinkageError | IllegalStateException | IOException refused) {
            results.absent("FFmpeg lut3d and lut1d: " + refused.getMessage());
        }
    }

    private void openColorIo(PackedRows rows, List<AutoCloseable> open) {
        if (!OpenColorIo.isThere()) {
            results.absent("OpenColorIO: not installed when build/lib was built (Debian: libopencolorio-dev and g++, then ./evenstop --rebuild)");
            return;
        }
        PackedFrame destination = rows.destination;
        long from = TestPicture.address(rows.source.memory());
        long to = TestPicture.address(destination.memory());
        Proofs.Pixels written = (x, y, c) -> destination.memory().getFloat(destination.rowOffset(y) + 16 * x + 4 * c);
        OpenColorIo cube = OpenColorIo.cube(LookUpTables.cube(Corrections.ALL.correction()));
        open.add(cube);
        rows.library("3-D table", "OpenColorIO", (a, b) -> cube.rows(rows.source, from, to, a, b),
            () -> Proofs.alike("OpenColorIO 3-D table", rows.source, written, Corrections.ALL.correction()));
        OpenColorIo tone = OpenColorIo.tone(LookUpTables.tone(Corrections.ALL.correction()));
        open.add(tone);
        rows.library("1-D table", "OpenColorIO", (a, b) -> tone.rows(rows.source, from, to, a, b),
            () -> Proofs.alike("OpenColorIO 1-D table", rows.source, written, Corrections.TONE.correction()));
    }

    private void openCv(PackedRows rows, List<AutoCloseable> open) {
        try {
            OpenCvCurves curves = new OpenCvCurves(rows.source, Corrections.ALL.correction());
            open.add(curves);
            for (int threads = 1; threads <= crews.size(); threads++) {
                int t = threads;
                rows.library(Corrections.ALL.label(), "OpenCV", t, () -> curves.run(t),
                    () -> Proofs.alike("OpenCV", rows.source, curves::at, Corrections.ALL.correction()));
            }
            for (int threads = 1; threads <= crews.size(); threads++) {
                int t = threads;
                rows.library("luma histogram", "OpenCV", t, () -> curves.histogram(t), () -> { });
            }
        } catch (LinkageError refused) {
            results.absent("OpenCV: " + refused.getMessage());
        }
    }

    void packed(SampleDepth depth) {
        progress.accept(PackedRows.name(depth));
        PackedRows rows = new PackedRows(WIDTH, HEIGHT, depth, crews);
        for (Corrections pass : passes()) {
            rows.kernel(kernel, pass);
        }
        RoundRobin.run(rows.rows, OTHER_SECONDS);
        results.add(rows.rows);
    }

    void planar(ChromaSampling sampling, CodeDepth depth) {
        progress.accept(PlanarRows.name(sampling, depth));
        PlanarRows rows = new PlanarRows(WIDTH, HEIGHT, sampling, depth, crews);
        for (Corrections pass : passes()) {
            rows.kernel(kernel, pass);
        }
        if (sampling == ChromaSampling.S422 && depth == CodeDepth.BITS10) {
            if (isVector()) {
                rows.kernel(scalar, Corrections.ALL);
            }
            for (boolean forThisProcessor : new boolean[] {false, true}) {
                if (CurvesInC.isThere(forThisProcessor)) {
                    rows.inC(forThisProcessor);
                }
            }
        }
        RoundRobin.run(rows.rows, OTHER_SECONDS);
        results.add(rows.rows);
    }

    /** The scalar kernel takes its time, and its parts cost what they cost in float: they are left to JMH. */
    private List<Corrections> passes() {
        return isVector() ? List.of(Corrections.values()) : List.of(Corrections.ALL, Corrections.IDENTITY);
    }

    /** The kernel under test on a UHD float frame, all three curves, proven and warm: each call times it anew, milliseconds. */
    DoubleSupplier bareFloat(int threads) {
        PackedRows rows = new PackedRows(WIDTH, HEIGHT, SampleDepth.FLOAT, List.of(crews.get(threads - 1)));
        rows.kernel(kernel, Corrections.ALL);
        RoundRobin.run(rows.rows, 1);
        return () -> RoundRobin.again(rows.rows.get(rows.rows.size() - 1));
    }

    @Override
    public void close() {
        crews.forEach(Crew::close);
    }
}
