// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static org.evenstop.vector.Memory.NATIVE;
import static org.evenstop.vector.Runs.BLOCK;

import java.lang.foreign.ValueLayout;
import java.lang.ref.Reference;
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
    private final FrameMemory stagedBytes = FrameMemory.stage(PIXEL_BYTES * BLOCK);
    private final FrameMemory stagedFloats = FrameMemory.stage(PIXEL_BYTES * BLOCK);
    private final FrameMemory correctedFloats = FrameMemory.stage(PIXEL_BYTES * BLOCK);
    private final FrameMemory from = new FrameMemory();
    private final FrameMemory into = new FrameMemory();

    /** The curve that does all the correction; null where several do, or one that the single loops cannot hold. */
    private CurveTable alone;

    PackedPass(ScalarKernel scalar, Runs runs) {
        this.scalar = scalar;
        this.runs = runs;
    }

    void run(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        runs.set(correction, strength);
        alone = runs.onlyCurve();
        try {
            from.open(source.memory());
            into.open(destination.memory());
            correct(source, destination, rowFrom, rowTo, correction, strength);
        } finally {
            from.close();
            into.close();
        }
        Reference.reachabilityFence(source);
        Reference.reachabilityFence(destination);
        // The stages are reached by address as well.
        Reference.reachabilityFence(this);
    }

    private void correct(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        boolean direct = source.depth() == SampleDepth.FLOAT && source.components() == Components.RGBA && from.isNative() && into.isNative();
        boolean premultiplied = source.alpha() == AlphaState.PREMULTIPLIED && source.components() == Components.RGBA;
        int pixelBytes = source.components().count() * source.depth().bytes();
        boolean apart = direct && from.isApartFrom(into);
        for (int row = rowFrom; row < rowTo; row++) {
            for (int x = 0; x < source.width(); x += BLOCK) {
                int n = Math.min(BLOCK, source.width() - x);
                long at = source.rowOffset(row) + (long) x * pixelBytes;
                long to = destination.rowOffset(row) + (long) x * pixelBytes;
                boolean usable;
                if (direct && Lanes.roundedUp(n) == n) {
                    long pixels = from.at(at, (long) PIXEL_BYTES * n);
                    long corrected = into.at(to, (long) PIXEL_BYTES * n);
                    usable = premultiplied ? correctDivided(pixels, corrected, n)
                        : alone != null && apart ? correctAlone(pixels, corrected, n) : correctFloats(pixels, corrected, n);
                } else {
                    usable = correctStaged(source, at, to, n);
                }
                if (!usable) {
                    scalar.applyToRun(source, destination, row, x, n, correction, strength);
                }
            }
        }
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

    private boolean correctStaged(PackedFrame frame, long at, long to, int n) {
        Components components = frame.components();
        SampleDepth depth = frame.depth();
        int channels = components.count();
        long bytes = (long) n * channels * depth.bytes();
        int count = Lanes.roundedUp(n);
        long samplesAt = stagedBytes.address();
        long corrected = correctedFloats.address();
        from.copyTo(stagedBytes, at, bytes);
        Memory.clear(samplesAt + bytes, (long) count * channels * depth.bytes() - bytes);
        if (depth == SampleDepth.HALF && channels == 4 && holdsNaNAlpha(samplesAt, n)) {
            return false;
        }
        long pixels = depth == SampleDepth.FLOAT ? samplesAt : stagedFloats.address();
        int sampleCount = Lanes.roundedUp(n * channels);
        switch (depth) {
            case BYTE -> Samples.ofBytes(samplesAt, pixels, sampleCount);
            case SHORT -> Samples.ofShorts(samplesAt, pixels, sampleCount);
            case HALF -> samples.ofHalves(samplesAt, pixels, sampleCount);
            case FLOAT -> { }
        }
        if (channels == 3) {
            widen(pixels, n);
        }
        boolean divided = channels == 4 && frame.alpha() == AlphaState.PREMULTIPLIED;
        boolean usable = divided ? correctDivided(pixels, corrected, count) : correctFloats(pixels, corrected, count);
        if (!usable) {
            return false;
        }
        if (channels == 3) {
            narrow(corrected, n);
        }
        switch (depth) {
            case BYTE -> Samples.toBytes(corrected, samplesAt, sampleCount);
            case SHORT -> Samples.toShorts(corrected, samplesAt, sampleCount);
            case HALF -> samples.toHalves(corrected, samplesAt, sampleCount);
            case FLOAT -> { }
        }
        into.copyFrom(depth == SampleDepth.FLOAT ? correctedFloats : stagedBytes, to, bytes);
        return true;
    }

    /** Converting there and back would not keep the bits of such an alpha. */
    private static boolean holdsNaNAlpha(long halves, int n) {
        for (int i = 0; i < n; i++) {
            if ((NATIVE.get(ValueLayout.JAVA_SHORT, halves + 8L * i + 6) & 0x7fff) > 0x7c00) {
                return true;
            }
        }
        return false;
    }

    /** R, G, B to R, G, B and whatever follows, from the last pixel on. */
    private static void widen(long floats, int n) {
        for (int i = n - 1; i > 0; i--) {
            float r = NATIVE.get(ValueLayout.JAVA_FLOAT, floats + 12L * i);
            float g = NATIVE.get(ValueLayout.JAVA_FLOAT, floats + 12L * i + 4);
            float b = NATIVE.get(ValueLayout.JAVA_FLOAT, floats + 12L * i + 8);
            NATIVE.set(ValueLayout.JAVA_FLOAT, floats + 16L * i, r);
            NATIVE.set(ValueLayout.JAVA_FLOAT, floats + 16L * i + 4, g);
            NATIVE.set(ValueLayout.JAVA_FLOAT, floats + 16L * i + 8, b);
        }
    }

    private static void narrow(long floats, int n) {
        for (int i = 1; i < n; i++) {
            for (int channel = 0; channel < 12; channel += 4) {
                NATIVE.set(ValueLayout.JAVA_FLOAT, floats + 12L * i + channel, NATIVE.get(ValueLayout.JAVA_FLOAT, floats + 16L * i + channel));
            }
        }
    }
}
