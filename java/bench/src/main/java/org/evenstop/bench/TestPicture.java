// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import com.sun.jna.Native;
import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.SampleIo;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;

/**
 * The picture that is corrected and measured: smooth colour, detail and a little noise, levels about -0.04 to 1.03, the same in every
 * format. Frames lie in native memory that begins on a cache line, as decoders and hosts give them.
 */
public final class TestPicture {
    private static final int ALIGNMENT = 64;

    private TestPicture() {
    }

    /** Memory outside the Java heap, zeroed, native byte order, first byte on a cache line. */
    public static ByteBuffer memory(int bytes) {
        return ByteBuffer.allocateDirect(Math.addExact(bytes, 2 * ALIGNMENT)).alignedSlice(ALIGNMENT).slice(0, bytes).order(ByteOrder.nativeOrder());
    }

    /** Where a buffer of {@link #memory} begins. */
    static long address(ByteBuffer buffer) {
        return com.sun.jna.Pointer.nativeValue(Native.getDirectBufferPointer(buffer));
    }

    /** An opaque RGBA frame of black and no alpha. */
    public static PackedFrame emptyPacked(int width, int height, SampleDepth depth) {
        int stride = width * 4 * depth.bytes();
        return new PackedFrame(memory(Math.multiplyExact(stride, height)), 0, stride, width, height, Components.RGBA, depth, AlphaState.OPAQUE);
    }

    public static PackedFrame packed(int width, int height, SampleDepth depth) {
        PackedFrame frame = emptyPacked(width, height, depth);
        float[] row = new float[4 * width];
        for (int y = 0; y < height; y++) {
            row(y, width, height, row);
            SampleIo.store(row, row.length, frame.memory(), frame.rowOffset(y), depth);
        }
        return frame;
    }

    /** A frame of BT.709 in narrow range, chroma on the even columns, 4:2:0 chroma midway between rows. */
    public static PlanarFrame emptyPlanar(int width, int height, ChromaSampling sampling, CodeDepth depth) {
        int lumaStride = width * depth.bytesPerSample();
        int chromaStride = sampling.chromaWidth(width) * depth.bytesPerSample();
        int chromaBytes = chromaStride * sampling.chromaHeight(height);
        return new PlanarFrame(memory(lumaStride * height), memory(chromaBytes), memory(chromaBytes), lumaStride, chromaStride, width, height,
            sampling, depth, LumaStandard.BT709, false, true, false);
    }

    public static PlanarFrame planar(int width, int height, ChromaSampling sampling, CodeDepth depth) {
        PlanarFrame frame = emptyPlanar(width, height, sampling, depth);
        LumaStandard standard = LumaStandard.BT709;
        float[] row = new float[4 * width];
        for (int y = 0; y < height; y++) {
            row(y, width, height, row);
            boolean withChroma = (y & (1 << sampling.shiftY()) - 1) == 0;
            for (int x = 0; x < width; x++) {
                double luma = standard.luma(row[4 * x], row[4 * x + 1], row[4 * x + 2]);
                frame.setLumaCode(x, y, held(depth, depth.roundedCodeOfLevel(luma)));
                if (withChroma && (x & (1 << sampling.shiftX()) - 1) == 0) {
                    int column = x >> sampling.shiftX();
                    int line = y >> sampling.shiftY();
                    frame.setCbCode(column, line, held(depth, depth.roundedCodeOfChroma((row[4 * x + 2] - luma) / standard.cbDivisor())));
                    frame.setCrCode(column, line, held(depth, depth.roundedCodeOfChroma((row[4 * x] - luma) / standard.crDivisor())));
                }
            }
        }
        return frame;
    }

    private static int held(CodeDepth depth, int code) {
        return Math.min(Math.max(code, depth.lowestVideoCode()), depth.highestVideoCode());
    }

    /** One row as RGBA levels, alpha 1. */
    private static void row(int y, int width, int height, float[] levels) {
        double down = (y + 0.5) / height;
        for (int x = 0; x < width; x++) {
            double across = (x + 0.5) / width;
            double light = 0.02 + 0.85 * across * across * (0.4 + 0.6 * down);
            double detail = 0.05 * Math.sin(0.9 * x) * Math.sin(0.7 * y) * (0.2 + across);
            double tint = 0.25 * (down - 0.5);
            for (int c = 0; c < 3; c++) {
                double noise = (mixed(((long) y * width + x) * 3 + c) - 0.5) * 0.04;
                levels[4 * x + c] = (float) (light * (1 + tint * (1 - c)) + detail + noise);
            }
            levels[4 * x + 3] = 1f;
        }
    }

    /** Even over 0..1, the same for the same n (bits mixed by odd factors and shifts; common practice, no source). */
    private static double mixed(long n) {
        long v = (n + 1) * 0x9e3779b97f4a7c15L;
        v = (v ^ v >>> 31) * 0xd6e8feb86659fd93L;
        v ^= v >>> 29;
        return (v >>> 11) * 0x1p-53;
    }
}
