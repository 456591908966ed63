// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import com.sun.jna.Function;
import com.sun.jna.Memory;
import com.sun.jna.Native;
import com.sun.jna.NativeLibrary;
import java.nio.file.Path;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.solve.Correction;

/**
 * The same maths in C at -O3 (native/bench/curves.c), on the very buffers that the Java kernels work on. It exists for the
 * comparison only.
 */
final class CurvesInC {
    private static final int MOST_SEGMENTS = 512;
    private static final int CURVE_BYTES = 24 + 16 * MOST_SEGMENTS;
    private static final int HEAD_BYTES = 16;
    private static final int PLANAR_BYTES = 6 * 8 + 4 * 4;
    private static final int COLUMNS = 16384;
    private static final NativeLibrary LIBRARY = load();
    private static final boolean HAS_NATIVE = LIBRARY != null && hasNative();

    /** Direct mapping, which costs nothing that could be seen in a frame's time. */
    private static final class Baseline {
        static {
            Native.register(Baseline.class, LIBRARY);
        }

        static native void evb_rgba_float(long from, long to, long pixels, long correction);

        static native void evb_planar_422_10(long frame, int rowFrom, int rowTo, long correction);
    }

    private static final class ForThisProcessor {
        static {
            Native.register(ForThisProcessor.class, LIBRARY);
        }

        static native void evb_rgba_float_native(long from, long to, long pixels, long correction);

        static native void evb_planar_422_10_native(long frame, int rowFrom, int rowTo, long correction);
    }

    private final Memory correction;
    private final boolean forThisProcessor;

    /** @param forThisProcessor the build with -march=native, else that for any processor of the family */
    CurvesInC(Correction of, boolean forThisProcessor) {
        this.forThisProcessor = forThisProcessor;
        correction = new Memory(HEAD_BYTES + 3L * CURVE_BYTES);
        correction.clear();
        correction.setFloat(0, (float) of.standard().redWeight());
        correction.setFloat(4, (float) of.standard().greenWeight());
        correction.setFloat(8, (float) of.standard().blueWeight());
        put(HEAD_BYTES, of.chromaIn(), !of.chromaIn().isConstant(1));
        put(HEAD_BYTES + CURVE_BYTES, of.tone(), !of.tone().isIdentity());
        put(HEAD_BYTES + 2 * CURVE_BYTES, of.chromaOut(), !of.chromaOut().isConstant(1));
    }

    private void put(int at, Curve curve, boolean active) {
        correction.setFloat(at, curve.scale());
        correction.setFloat(at + 4, curve.offset());
        correction.setFloat(at + 8, curve.highest());
        correction.setFloat(at + 12, curve.slopeBelow());
        correction.setFloat(at + 16, curve.slopeAbove());
        correction.setInt(at + 20, active ? 1 : 0);
        int n = curve.segmentCount();
        float[] k = new float[n];
        for (int power = 0; power < 4; power++) {
            curve.copyCoefficients(power, k);
            for (int i = 0; i < n; i++) {
                correction.setFloat(at + 24 + 16L * i + 4 * power, k[i]);
            }
        }
    }

    static boolean isThere(boolean forThisProcessor) {
        return forThisProcessor ? HAS_NATIVE : LIBRARY != null;
    }

    /** Null where it was not built. */
    static NativeLibrary library() {
        return LIBRARY;
    }

    private static NativeLibrary load() {
        Path file = NativeLibraries.find("evenstop_bench");
        return file == null ? null : NativeLibrary.getInstance(file.toString());
    }

    private static boolean hasNative() {
        try {
            Function found = LIBRARY.getFunction("evb_rgba_float_native");
            return found != null;
        } catch (UnsatisfiedLinkError absent) {
            return false;
        }
    }

    /** RGBA float pixels without padding between rows. */
    void rgba(long from, long to, long pixels) {
        long c = com.sun.jna.Pointer.nativeValue(correction);
        if (forThisProcessor) {
            ForThisProcessor.evb_rgba_float_native(from, to, pixels, c);
        } else {
            Baseline.evb_rgba_float(from, to, pixels, c);
        }
    }

    /** A 4:2:2 10-bit frame and where its result goes, for {@link #planar}. */
    static Memory planarBlock(PlanarFrame from, PlanarFrame to) {
        if (from.width() > COLUMNS) {
            throw new IllegalArgumentException("the C reference takes rows of " + COLUMNS + " columns at most");
        }
        Memory block = new Memory(PLANAR_BYTES);
        long[] read = CLibrary.planes(from);
        long[] written = CLibrary.planes(to);
        for (int i = 0; i < 3; i++) {
            block.setLong(8L * i, read[i]);
            block.setLong(24 + 8L * i, written[i]);
        }
        block.setInt(48, from.width());
        block.setInt(52, from.lumaStride() / 2);
        block.setInt(56, from.chromaStride() / 2);
        block.setInt(60, 0);
        return block;
    }

    void planar(Memory block, int rowFrom, int rowTo) {
        long c = com.sun.jna.Pointer.nativeValue(correction);
        long frame = com.sun.jna.Pointer.nativeValue(block);
        if (forThisProcessor) {
            ForThisProcessor.evb_planar_422_10_native(frame, rowFrom, rowTo, c);
        } else {
            Baseline.evb_planar_422_10(frame, rowFrom, rowTo, c);
        }
    }
}
