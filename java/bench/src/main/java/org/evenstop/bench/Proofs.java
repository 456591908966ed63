// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.nio.ByteBuffer;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.SampleIo;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.solve.Correction;

/** Compares what was computed with what the scalar kernel computes, which is the truth. */
final class Proofs {
    /** 1/8 of a 10-bit code as a level: how near a kernel must come (design: kernels). */
    static final double KERNEL_BOUND = 0.125 / 876;
    /** What float rounding in another order can make of a level near 1 (own choice: some 16 units in the last place). */
    static final double ROUNDING = 2e-6;
    /** How near a general library must come on the average: enough to show that it does the same job (own choice, no source). */
    static final double LIKENESS = 0.01;
    /** Every this many bands one is compared: rows from all over the frame, in a tenth of the time. */
    private static final int BAND_STEP = 9;

    private Proofs() {
    }

    /**
     * Every sample within {@code bound} of the scalar kernel's, one step of the format's rounding allowed on top; alpha bit for bit.
     *
     * @param who for the message
     */
    static void packed(String who, PackedFrame source, PackedFrame result, Correction correction, double bound) {
        int n = 4 * source.width();
        float[] expected = new float[n];
        float[] got = new float[n];
        for (int from = 0; from < source.height(); from += BAND_STEP * Crew.BAND) {
            int rows = Math.min(Crew.BAND, source.height() - from);
            PackedFrame part = part(source, from, rows);
            PackedFrame truth = PackedFrame.allocate(part.width(), rows, part.components(), part.depth(), part.alpha());
            new ScalarKernel().apply(part, truth, 0, rows, correction, 1f);
            for (int row = 0; row < rows; row++) {
                SampleIo.load(truth.memory(), truth.rowOffset(row), truth.depth(), expected, n);
                SampleIo.load(result.memory(), result.rowOffset(from + row), result.depth(), got, n);
                for (int i = 0; i < n; i++) {
                    double allowed = (i & 3) == 3 ? 0 : bound + step(source.depth(), expected[i]);
                    if (!(Math.abs(got[i] - expected[i]) <= allowed)) {
                        throw wrong(who, i / 4, from + row, got[i], expected[i]);
                    }
                }
            }
        }
    }

    private static PackedFrame part(PackedFrame frame, int row, int rows) {
        return new PackedFrame(frame.memory(), frame.rowOffset(row), frame.strideBytes(), frame.width(), rows, frame.components(),
            frame.depth(), frame.alpha());
    }

    private static double step(SampleDepth depth, float level) {
        return switch (depth) {
            case BYTE -> 1.0 / 255;
            case SHORT -> 1.0 / 65535;
            case HALF -> Math.max(Math.ulp(level) * 8192.0, 0x1p-24);
            case FLOAT -> 0;
        };
    }

    /** Every byte the source's. */
    static void same(String who, PackedFrame source, PackedFrame result) {
        for (int row = 0; row < source.height(); row++) {
            requireEqual(who, source.memory(), source.rowOffset(row), result.memory(), result.rowOffset(row), source.rowBytes());
        }
    }

    static void same(String who, PlanarFrame source, PlanarFrame result) {
        requireEqual(who, source.luma(), 0, result.luma(), 0, source.luma().capacity());
        requireEqual(who, source.cb(), 0, result.cb(), 0, source.cb().capacity());
        requireEqual(who, source.cr(), 0, result.cr(), 0, source.cr().capacity());
    }

    private static void requireEqual(String who, ByteBuffer a, int atA, ByteBuffer b, int atB, int bytes) {
        int differs = a.slice(atA, bytes).mismatch(b.slice(atB, bytes));
        if (differs >= 0) {
            throw new WrongResultException(who + " changes byte " + differs + " of a row or plane that it should only copy");
        }
    }

    /** What the scalar kernel makes of a planar frame. */
    static PlanarFrame truth(PlanarFrame source, Correction correction) {
        PlanarFrame truth = source.allocateLike();
        new ScalarKernel().apply(source, truth, 0, source.height(), correction, 1f);
        return truth;
    }

    /**
     * Every code within one of the truth's, which rounding can make of nearly the same value.
     *
     * @param mostDiffering share of codes that may differ at all
     */
    static void planar(String who, PlanarFrame truth, PlanarFrame result, double mostDiffering) {
        int bytes = truth.depth().bytesPerSample();
        long differing = plane(who + ", luma", truth.luma(), result.luma(), bytes) + plane(who + ", Cb", truth.cb(), result.cb(), bytes)
            + plane(who + ", Cr", truth.cr(), result.cr(), bytes);
        long codes = (truth.luma().capacity() + 2L * truth.cb().capacity()) / bytes;
        if (differing > mostDiffering * codes) {
            throw new WrongResultException(who + " differs from the scalar kernel in " + differing + " of " + codes + " codes; at most "
                + (long) (mostDiffering * codes) + " may");
        }
    }

    private static long plane(String who, ByteBuffer truth, ByteBuffer result, int bytes) {
        long differing = 0;
        for (int i = 0; i < truth.capacity(); i += bytes) {
            int a = bytes == 1 ? truth.get(i) & 0xff : truth.getShort(i) & 0xffff;
            int b = bytes == 1 ? result.get(i) & 0xff : result.getShort(i) & 0xffff;
            if (a != b) {
                differing++;
                if (Math.abs(a - b) > 1) {
                    throw new WrongResultException(who + " gives code " + b + " where the scalar kernel gives " + a);
                }
            }
        }
        return differing;
    }

    /** Reads a pixel's component from wherever a library left it. */
    interface Pixels {
        float at(int x, int y, int component);
    }

    /** The mean difference from the scalar kernel's picture, where that lies in 0..1, is small. */
    static void alike(String who, PackedFrame source, Pixels result, Correction correction) {
        double sum = 0;
        long count = 0;
        float[] expected = new float[4 * source.width()];
        for (int y = 0; y < source.height(); y += 97) {
            PackedFrame line = part(source, y, 1);
            PackedFrame truth = PackedFrame.allocate(line.width(), 1, line.components(), line.depth(), line.alpha());
            new ScalarKernel().apply(line, truth, 0, 1, correction, 1f);
            SampleIo.load(truth.memory(), 0, truth.depth(), expected, expected.length);
            for (int x = 0; x < source.width(); x += 7) {
                for (int c = 0; c < 3; c++) {
                    float e = expected[4 * x + c];
                    if (e >= 0 && e <= 1) {
                        sum += Math.abs(result.at(x, y, c) - e);
                        count++;
                    }
                }
            }
        }
        if (!(sum / count <= LIKENESS)) {
            throw new WrongResultException(who + " is " + sum / count + " from the scalar kernel's picture on the average; at most "
                + LIKENESS + " shows that it does the same job");
        }
    }

    private static WrongResultException wrong(String who, int x, int y, double got, double expected) {
        return new WrongResultException(who + " gives " + got + " at pixel " + x + "," + y + " where the scalar kernel gives " + expected);
    }
}
