// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static org.evenstop.vector.Runs.BLOCK;

import java.lang.foreign.Arena;
import java.lang.foreign.MemorySegment;
import java.lang.foreign.ValueLayout;
import java.lang.ref.Reference;
import java.nio.ByteBuffer;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.solve.Correction;

/**
 * Corrects packed frames, one block of a row at a time. RGBA floats in native memory are worked on where they lie; everything
 * else goes through a block of RGBA floats beside it. Blocks that hold values to be replaced (NaN, infinities, beyond 65504)
 * are left to the scalar kernel. Used by one thread.
 */
final class PackedPass {
    private static final int PIXEL_BYTES = 16;

    private final ScalarKernel scalar;
    private final Runs runs;
    private final Samples samples = new Samples();
    private final Scratch scratch = new Scratch();
    private final long before = scratch.floats(3 * BLOCK);
    private final long alpha = scratch.floats(BLOCK);
    // Native, so that the loops meet one kind of memory only.
    private final MemorySegment stagedBytes = stage();
    private final MemorySegment stagedFloats = stage();
    private final MemorySegment correctedFloats = stage();

    /** The curve that does all the correction; null where several do, or one that the single loops cannot hold. */
    private CurveTable alone;

    PackedPass(ScalarKernel scalar, Runs runs) {
        this.scalar = scalar;
        this.runs = runs;
    }

    private static MemorySegment stage() {
        return Arena.ofAuto().allocate(PIXEL_BYTES * (long) BLOCK, 64);
    }

    void run(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        runs.set(correction, strength);
        MemorySegment from = Memory.open(MemorySegment.ofBuffer(source.memory()));
        MemorySegment into = Memory.open(MemorySegment.ofBuffer(destination.memory()));
        boolean direct = source.depth() == SampleDepth.FLOAT && source.components() == Components.RGBA && from.isNative() && into.isNative();
        boolean premultiplied = source.alpha() == AlphaState.PREMULTIPLIED && source.components() == Components.RGBA;
        int pixelBytes = source.components().count() * source.depth().bytes();
        boolean apart = direct && (from.address() + from.byteSize() <= into.address() || into.address() + into.byteSize() <= from.address());
        alone = runs.onlyCurve();
        for (int row = rowFrom; row < rowTo; row++) {
            for (int x = 0; x < source.width(); x += BLOCK) {
                int n = Math.min(BLOCK, source.width() - x);
                long at = source.rowOffset(row) + (long) x * pixelBytes;
                long to = destination.rowOffset(row) + (long) x * pixelBytes;
                boolean usable;
                if (direct && Lanes.roundedUp(n) == n) {
                    long pixels = Memory.at(from, at, (long) PIXEL_BYTES * n);
                    long corrected = Memory.at(into, to, (long) PIXEL_BYTES * n);
                    usable = premultiplied ? correctDivided(pixels, corrected, n)
                        : alone != null && apart ? correctAlone(pixels, corrected, n) : correctFloats(pixels, corrected, n);
                } else {
                    usable = correctStaged(source, from, at, into, to, n);
                }
                if (!usable) {
                    scalar.apply(part(source, row, x, n, pixelBytes), part(destination, row, x, n, pixelBytes), 0, 1, correction, strength);
                }
            }
        }
        Reference.reachabilityFence(source);
        Reference.reachabilityFence(destination);
        // The stages are reached by address as well.
        Reference.reachabilityFence(this);
    }

    private static PackedFrame part(PackedFrame frame, int row, int x, int n, int pixelBytes) {
        ByteBuffer memory = frame.memory();
        return new PackedFrame(memory, frame.rowOffset(row) + x * pixelBytes, n * pixelBytes, n, 1, frame.components(), frame.depth(), frame.alpha());
    }

    /** False, with nothing written, when the block holds values to be replaced. */
    private boolean correctFloats(long from, long into, int count) {
        boolean undone = runs.strength == 1f && runs.fusesChromaIn();
        int largest = undone ? FloatPixels.spreadScaled(from, runs.rgb, BLOCK, count, runs.chromaIn, runs.wr, runs.wb)
            : FloatPixels.spread(from, runs.rgb, BLOCK, count);
        if (largest > FloatPixels.LARGEST) {
            return false;
        }
        if (runs.strength != 1f) {
            runs.correct(count);
            FloatPixels.gather(runs.rgb, BLOCK, count, from, into);
            return true;
        }
        if (!undone) {
            runs.undoChroma(count);
        }
        runs.applyTone(count);
        if (runs.fusesChromaOut()) {
            FloatPixels.gatherScaled(runs.rgb, BLOCK, count, runs.chromaOut, runs.wr, runs.wb, from, into);
        } else {
            runs.redoChroma(count);
            FloatPixels.gather(runs.rgb, BLOCK, count, from, into);
        }
        return true;
    }

    /** Where one curve does all: straight from memory to memory. False when the block must be done again. */
    private boolean correctAlone(long from, long into, int count) {
        int largest = alone == runs.tone ? FloatPixels.toneOnly(from, into, count, alone)
            : FloatPixels.chromaOnly(from, into, count, alone, runs.wr, runs.wb);
        return largest <= FloatPixels.LARGEST;
    }

    private boolean correctDivided(long from, long into, int count) {
        if (FloatPixels.spread(from, runs.rgb, BLOCK, count) > FloatPixels.LARGEST) {
            return false;
        }
        FloatPixels.spreadAlpha(from, alpha, count);
        Memory.copy(runs.rgb, before, 3 * BLOCK);
        if (Runs.divide(runs.rgb, alpha, count) > FloatPixels.LARGEST) {
            return false;
        }
        runs.correct(count);
        Runs.multiply(runs.rgb, alpha, before, count);
        FloatPixels.gather(runs.rgb, BLOCK, count, from, into);
        return true;
    }

    private boolean correctStaged(PackedFrame frame, MemorySegment from, long at, MemorySegment into, long to, int n) {
        Components components = frame.components();
        SampleDepth depth = frame.depth();
        int channels = components.count();
        long bytes = (long) n * channels * depth.bytes();
        int count = Lanes.roundedUp(n);
        MemorySegment.copy(from, at, stagedBytes, 0, bytes);
        if (count > n) {
            stagedBytes.asSlice(bytes, (long) count * channels * depth.bytes() - bytes).fill((byte) 0);
        }
        if (depth == SampleDepth.HALF && channels == 4 && holdsNaNAlpha(n)) {
            return false;
        }
        MemorySegment pixels = stagedFloats;
        int sampleCount = Lanes.roundedUp(n * channels);
        switch (depth) {
            case BYTE -> Samples.ofBytes(stagedBytes.address(), stagedFloats.address(), sampleCount);
            case SHORT -> Samples.ofShorts(stagedBytes.address(), stagedFloats.address(), sampleCount);
            case HALF -> samples.ofHalves(stagedBytes, 0, stagedFloats, sampleCount);
            case FLOAT -> pixels = stagedBytes;
        }
        if (channels == 3) {
            widen(pixels, n);
        }
        boolean divided = channels == 4 && frame.alpha() == AlphaState.PREMULTIPLIED;
        boolean usable = divided ? correctDivided(pixels.address(), correctedFloats.address(), count) : correctFloats(pixels.address(), correctedFloats.address(), count);
        if (!usable) {
            return false;
        }
        if (channels == 3) {
            narrow(correctedFloats, n);
        }
        switch (depth) {
            case BYTE -> Samples.toBytes(correctedFloats.address(), stagedBytes.address(), sampleCount);
            case SHORT -> Samples.toShorts(correctedFloats.address(), stagedBytes.address(), sampleCount);
            case HALF -> samples.toHalves(correctedFloats, stagedBytes, 0, sampleCount);
            case FLOAT -> {
                MemorySegment.copy(correctedFloats, 0, into, to, bytes);
                return true;
            }
        }
        MemorySegment.copy(stagedBytes, 0, into, to, bytes);
        return true;
    }

    /** Converting there and back would not keep the bits of such an alpha. */
    private boolean holdsNaNAlpha(int n) {
        for (int i = 0; i < n; i++) {
            if ((stagedBytes.get(ValueLayout.JAVA_SHORT_UNALIGNED, 8L * i + 6) & 0x7fff) > 0x7c00) {
                return true;
            }
        }
        return false;
    }

    /** R, G, B to R, G, B and whatever follows, from the last pixel on. */
    private static void widen(MemorySegment floats, int n) {
        for (int i = n - 1; i > 0; i--) {
            float r = floats.get(ValueLayout.JAVA_FLOAT_UNALIGNED, 12L * i);
            float g = floats.get(ValueLayout.JAVA_FLOAT_UNALIGNED, 12L * i + 4);
            float b = floats.get(ValueLayout.JAVA_FLOAT_UNALIGNED, 12L * i + 8);
            floats.set(ValueLayout.JAVA_FLOAT_UNALIGNED, 16L * i, r);
            floats.set(ValueLayout.JAVA_FLOAT_UNALIGNED, 16L * i + 4, g);
            floats.set(ValueLayout.JAVA_FLOAT_UNALIGNED, 16L * i + 8, b);
        }
    }

    private static void narrow(MemorySegment floats, int n) {
        for (int i = 1; i < n; i++) {
            for (int channel = 0; channel < 12; channel += 4) {
                floats.set(ValueLayout.JAVA_FLOAT_UNALIGNED, 12L * i + channel, floats.get(ValueLayout.JAVA_FLOAT_UNALIGNED, 16L * i + channel));
            }
        }
    }
}
