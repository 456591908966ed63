// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.mask;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Random;
import java.util.concurrent.atomic.AtomicInteger;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.FramePlace;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.SampleIo;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.junit.jupiter.api.Test;

/** Two corrections blended: exact at both ends, between them in between, the same in tiles and in whole frames. */
class MaskedCorrectionTest {
    private static final CorrectionKernel KERNEL = new ScalarKernel();
    private static final int WIDTH = 61;
    private static final int HEIGHT = 47;
    private static final FramePlace PLACE = FramePlace.whole(WIDTH, HEIGHT);
    private static final MaskedCorrection TILTED = new MaskedCorrection(new GraduatedMask(60, 20, 25, 1), exposed(1), exposed(-1.5));

    private static Correction exposed(double stops) {
        Profile profile = ProfileShapes.cinemaSoft();
        return new Correction(Curve.fitFlatEnded(y -> 1 / profile.chromaFactor(y), 0.002),
            Curve.fit(level -> profile.reexposed(level, stops), 0.002), Curve.fitFlatEnded(profile::chromaFactor, 0.002), LumaStandard.BT709,
            CorrectionOrigin.none());
    }

    private static PackedFrame picture(Components components, SampleDepth depth, AlphaState alpha) {
        PackedFrame frame = PackedFrame.allocate(WIDTH, HEIGHT, components, depth, alpha);
        Random random = new Random(20261125);
        float[] row = new float[WIDTH * components.count()];
        for (int y = 0; y < HEIGHT; y++) {
            for (int i = 0; i < row.length; i++) {
                boolean isAlpha = components == Components.RGBA && i % 4 == 3;
                row[i] = isAlpha ? (random.nextInt(4) == 0 ? 0 : random.nextFloat()) : -0.05f + 1.15f * random.nextFloat();
            }
            SampleIo.store(row, row.length, frame.memory(), frame.rowOffset(y), depth);
        }
        return frame;
    }

    private static PackedFrame like(PackedFrame frame) {
        return PackedFrame.allocate(frame.width(), frame.height(), frame.components(), frame.depth(), frame.alpha());
    }

    private static byte[] bytes(PackedFrame frame) {
        byte[] all = new byte[frame.rowBytes() * frame.height()];
        for (int y = 0; y < frame.height(); y++) {
            frame.memory().get(frame.rowOffset(y), all, y * frame.rowBytes(), frame.rowBytes());
        }
        return all;
    }

    private static PackedFrame part(PackedFrame frame, int x, int y, int width, int height) {
        int pixel = frame.components().count() * frame.depth().bytes();
        return new PackedFrame(frame.memory(), frame.rowOffset(y) + x * pixel, frame.strideBytes(), width, height, frame.components(),
            frame.depth(), frame.alpha());
    }

    @Test
    void tilesInAnyOrderAreTheWholeInEveryForm() {
        for (SampleDepth depth : SampleDepth.values()) {
            for (Components components : new Components[] {Components.RGBA, Components.RGB}) {
                for (AlphaState alpha : AlphaState.values()) {
                    PackedFrame source = picture(components, depth, alpha);
                    PackedFrame whole = like(source);
                    TILTED.apply(KERNEL, source, whole, 0, HEIGHT, PLACE, 0.9f);
                    PackedFrame tiled = like(source);
                    for (int y = 40; y >= 0; y -= 8) {
                        for (int x = 0; x < WIDTH; x += 13) {
                            int w = Math.min(13, WIDTH - x);
                            int h = Math.min(8, HEIGHT - y);
                            TILTED.apply(KERNEL, part(source, x, y, w, h), part(tiled, x, y, w, h), 0, h, PLACE.shifted(x, y), 0.9f);
                        }
                    }
                    assertArrayEquals(bytes(whole), bytes(tiled), depth + " " + components + " " + alpha);
                    PackedFrame inPlace = picture(components, depth, alpha);
                    TILTED.apply(KERNEL, inPlace, inPlace, 0, HEIGHT, PLACE, 0.9f);
                    assertArrayEquals(bytes(whole), bytes(inPlace), "in place, " + depth + " " + components + " " + alpha);
                }
            }
        }
    }

    /** Each pixel is one correction's, the other's, or between the two by its weight; alpha keeps its bits. */
    @Test
    void everyPixelIsTheBlendByItsWeight() {
        PackedFrame source = picture(Components.RGBA, SampleDepth.FLOAT, AlphaState.UNPREMULTIPLIED);
        PackedFrame out = like(source);
        PackedFrame ground = like(source);
        PackedFrame sky = like(source);
        TILTED.apply(KERNEL, source, out, 0, HEIGHT, PLACE, 1);
        KERNEL.apply(source, ground, 0, HEIGHT, TILTED.ground(), 1);
        KERNEL.apply(source, sky, 0, HEIGHT, TILTED.sky(), 1);
        int[] kinds = new int[3];
        for (int y = 0; y < HEIGHT; y++) {
            for (int x = 0; x < WIDTH; x++) {
                float w = TILTED.mask().weight(PLACE.across(x), PLACE.up(y));
                kinds[w == 0 ? 0 : w == 1 ? 1 : 2]++;
                for (int c = 0; c < 4; c++) {
                    int at = out.rowOffset(y) + 4 * (4 * x + c);
                    float below = ground.memory().getFloat(at);
                    float above = sky.memory().getFloat(at);
                    assertEquals(c == 3 ? source.memory().getFloat(at) : w == 0 ? below : w == 1 ? above : below + w * (above - below),
                        out.memory().getFloat(at));
                }
            }
        }
        assertTrue(kinds[0] > 100 && kinds[1] > 100 && kinds[2] > 100, "all three kinds of pixel were there");
    }

    @Test
    void integerDepthsMissTheFloatBlendByRoundingOnly() {
        for (SampleDepth depth : new SampleDepth[] {SampleDepth.BYTE, SampleDepth.SHORT}) {
            PackedFrame source = picture(Components.RGB, depth, AlphaState.OPAQUE);
            PackedFrame asFloat = PackedFrame.allocate(WIDTH, HEIGHT, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE);
            float[] row = new float[3 * WIDTH];
            for (int y = 0; y < HEIGHT; y++) {
                SampleIo.load(source.memory(), source.rowOffset(y), depth, row, row.length);
                SampleIo.store(row, row.length, asFloat.memory(), asFloat.rowOffset(y), SampleDepth.FLOAT);
            }
            TILTED.apply(KERNEL, source, source, 0, HEIGHT, PLACE, 1);
            TILTED.apply(KERNEL, asFloat, asFloat, 0, HEIGHT, PLACE, 1);
            double step = depth == SampleDepth.BYTE ? 1 / 255.0 : 1 / 65535.0;
            float[] floats = new float[3 * WIDTH];
            for (int y = 0; y < HEIGHT; y++) {
                SampleIo.load(source.memory(), source.rowOffset(y), depth, row, row.length);
                SampleIo.load(asFloat.memory(), asFloat.rowOffset(y), SampleDepth.FLOAT, floats, row.length);
                for (int i = 0; i < row.length; i++) {
                    assertEquals(Math.min(Math.max(floats[i], 0), 1), row[i], 0.51 * step);
                }
            }
        }
    }

    @Test
    void rowsOfOneKindCostOneCorrection() {
        AtomicInteger rows = new AtomicInteger();
        CorrectionKernel counting = new CorrectionKernel() {
            @Override
            public String name() {
                return "counting";
            }

            @Override
            public void apply(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
                rows.addAndGet(rowTo - rowFrom);
            }

            @Override
            public void apply(PlanarFrame source, PlanarFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
                throw new AssertionError("planar");
            }
        };
        PackedFrame source = PackedFrame.allocate(8, 100, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        new MaskedCorrection(new GraduatedMask(50, 0, 10, 1), exposed(1), exposed(-1)).apply(counting, source, like(source), 0, 100,
            FramePlace.whole(8, 100), 1);
        assertEquals(110, rows.get(), "ten rows fade and are corrected twice");
        rows.set(0);
        new MaskedCorrection(new GraduatedMask(50, 0, 10, 0), exposed(1), exposed(-1)).apply(counting, source, like(source), 0, 100,
            FramePlace.whole(8, 100), 1);
        assertEquals(100, rows.get(), "a mask that is mixed out costs nothing");
    }

    @Test
    void anIdentityLeavesEveryBit() {
        Correction none = Correction.identity(LumaStandard.BT709);
        MaskedCorrection masked = new MaskedCorrection(new GraduatedMask(50, 30, 40, 0.5), none, none);
        assertTrue(masked.isIdentity());
        for (SampleDepth depth : SampleDepth.values()) {
            PackedFrame source = picture(Components.RGBA, depth, AlphaState.UNPREMULTIPLIED);
            PackedFrame out = like(source);
            masked.apply(KERNEL, source, out, 0, HEIGHT, PLACE, 1);
            assertArrayEquals(bytes(source), bytes(out), depth.toString());
        }
    }
}
