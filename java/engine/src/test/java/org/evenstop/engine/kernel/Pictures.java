// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.util.Random;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;

/** Invented frames and corrections for tests of kernels. */
final class Pictures {
    private Pictures() {
    }

    /** A re-exposure through the cinema look with all three curves at work. */
    static Correction reexposure(double stops, LumaStandard standard) {
        Profile profile = ProfileShapes.cinemaSoft();
        return new Correction(Curve.fitFlatEnded(y -> 1 / profile.chromaFactor(y), 0.002),
            Curve.fit(level -> profile.reexposed(level, stops), 0.002), Curve.fitFlatEnded(profile::chromaFactor, 0.002), standard,
            CorrectionOrigin.none());
    }

    static Correction toneOnly(double stops) {
        return new Correction(Curve.constant(1), reexposure(stops, LumaStandard.BT709).tone(), Curve.constant(1), LumaStandard.BT709,
            CorrectionOrigin.none());
    }

    /** A frame in memory with room round it: rows padded by {@code padding} bytes, upside down if asked, heap or direct. */
    static PackedFrame packed(int width, int height, Components components, SampleDepth depth, AlphaState alpha, int padding, boolean upsideDown,
                              boolean direct) {
        int stride = width * components.count() * depth.bytes() + padding;
        int lead = 5;
        int bytes = lead + stride * height + 7;
        ByteBuffer memory = direct ? ByteBuffer.allocateDirect(bytes) : ByteBuffer.allocate(bytes);
        for (int i = 0; i < bytes; i++) {
            memory.put(i, (byte) 0x5a);
        }
        int origin = upsideDown ? lead + (height - 1) * stride : lead;
        return new PackedFrame(memory, origin, upsideDown ? -stride : stride, width, height, components, depth, alpha);
    }

    static PackedFrame packed(int width, int height, Components components, SampleDepth depth, AlphaState alpha) {
        return packed(width, height, components, depth, alpha, 0, false, false);
    }

    /** Any bits at all: for floats that includes NaN of every payload, infinities and subnormals. */
    static void fillWithAnyBits(PackedFrame frame, long seed) {
        Random random = new Random(seed);
        byte[] row = new byte[frame.rowBytes()];
        for (int y = 0; y < frame.height(); y++) {
            random.nextBytes(row);
            frame.memory().put(frame.rowOffset(y), row);
        }
    }

    /** Levels from -0.1 to 1.2 with a few far outside, alpha from 0 to 1. */
    static void fillWithLevels(PackedFrame frame, long seed) {
        Random random = new Random(seed);
        int channels = frame.components().count();
        for (int y = 0; y < frame.height(); y++) {
            for (int i = 0; i < frame.width() * channels; i++) {
                boolean isAlpha = channels == 4 && i % 4 == 3 || channels == 1;
                float level = isAlpha ? random.nextInt(5) == 0 ? 0 : random.nextFloat() : random.nextInt(50) == 0 ? 40 * random.nextFloat() - 20
                    : -0.1f + 1.3f * random.nextFloat();
                put(frame, y, i, level);
            }
        }
    }

    /** Sets sample i of a row (component i % n of pixel i / n). */
    static void put(PackedFrame frame, int row, int i, float level) {
        SampleIo.store(new float[] {level}, 1, frame.memory(), frame.rowOffset(row) + i * frame.depth().bytes(), frame.depth());
    }

    static float get(PackedFrame frame, int row, int i) {
        float[] one = new float[1];
        SampleIo.load(frame.memory(), frame.rowOffset(row) + i * frame.depth().bytes(), frame.depth(), one, 1);
        return one[0];
    }

    /** The same pixels in another layout of memory. */
    static void copyPixels(PackedFrame from, PackedFrame to) {
        for (int y = 0; y < from.height(); y++) {
            to.memory().put(to.rowOffset(y), from.memory(), from.rowOffset(y), from.rowBytes());
        }
    }

    /** Bytes of the pixels alone, row by row from row 0. */
    static byte[] pixels(PackedFrame frame) {
        byte[] bytes = new byte[frame.rowBytes() * frame.height()];
        for (int y = 0; y < frame.height(); y++) {
            frame.memory().get(frame.rowOffset(y), bytes, y * frame.rowBytes(), frame.rowBytes());
        }
        return bytes;
    }

    /** Number of bytes outside the pixels that are not as they were made. */
    static int disturbedPadding(PackedFrame frame) {
        boolean[] pixel = new boolean[frame.memory().capacity()];
        for (int y = 0; y < frame.height(); y++) {
            java.util.Arrays.fill(pixel, frame.rowOffset(y), frame.rowOffset(y) + frame.rowBytes(), true);
        }
        int disturbed = 0;
        for (int i = 0; i < pixel.length; i++) {
            disturbed += !pixel[i] && frame.memory().get(i) != 0x5a ? 1 : 0;
        }
        return disturbed;
    }

    /** A planar frame like another but with padded rows in direct memory. */
    static PlanarFrame paddedLike(PlanarFrame f, int padding) {
        int bytes = f.depth().bytesPerSample();
        int lumaStride = f.width() * bytes + padding;
        int chromaStride = f.sampling().chromaWidth(f.width()) * bytes + padding;
        int chromaRows = f.sampling().chromaHeight(f.height());
        return new PlanarFrame(filled(lumaStride * f.height()), filled(chromaStride * chromaRows), filled(chromaStride * chromaRows), lumaStride,
            chromaStride, f.width(), f.height(), f.sampling(), f.depth(), f.standard(), f.fullRange(), f.chromaCosited(), f.chromaTop());
    }

    private static ByteBuffer filled(int bytes) {
        ByteBuffer buffer = ByteBuffer.allocateDirect(bytes).order(ByteOrder.nativeOrder());
        for (int i = 0; i < bytes; i++) {
            buffer.put(i, (byte) 0x5a);
        }
        return buffer;
    }

    /** Codes at random from the whole range that a sample can hold. */
    static void fillWithAnyCodes(PlanarFrame f, long seed) {
        Random random = new Random(seed);
        int codes = f.depth().maxCode() + 1;
        for (int y = 0; y < f.height(); y++) {
            for (int x = 0; x < f.width(); x++) {
                f.setLumaCode(x, y, random.nextInt(codes));
            }
        }
        for (int y = 0; y < f.sampling().chromaHeight(f.height()); y++) {
            for (int x = 0; x < f.sampling().chromaWidth(f.width()); x++) {
                f.setCbCode(x, y, random.nextInt(codes));
                f.setCrCode(x, y, random.nextInt(codes));
            }
        }
    }

    /** All codes of the picture, plane after plane. */
    static int[] codes(PlanarFrame f) {
        int cw = f.sampling().chromaWidth(f.width());
        int ch = f.sampling().chromaHeight(f.height());
        int[] codes = new int[f.width() * f.height() + 2 * cw * ch];
        int n = 0;
        for (int y = 0; y < f.height(); y++) {
            for (int x = 0; x < f.width(); x++) {
                codes[n++] = f.lumaCode(x, y);
            }
        }
        for (int y = 0; y < ch; y++) {
            for (int x = 0; x < cw; x++) {
                codes[n++] = f.cbCode(x, y);
                codes[n++] = f.crCode(x, y);
            }
        }
        return codes;
    }

    static void copyCodes(PlanarFrame from, PlanarFrame to) {
        for (int y = 0; y < from.height(); y++) {
            for (int x = 0; x < from.width(); x++) {
                to.setLumaCode(x, y, from.lumaCode(x, y));
            }
        }
        for (int y = 0; y < from.sampling().chromaHeight(from.height()); y++) {
            for (int x = 0; x < from.sampling().chromaWidth(from.width()); x++) {
                to.setCbCode(x, y, from.cbCode(x, y));
                to.setCrCode(x, y, from.crCode(x, y));
            }
        }
    }
}
