// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.ORDER;
import static org.evenstop.vector.Memory.NATIVE;
import static org.evenstop.vector.PlanarLoops.BLOCK;

import java.lang.ref.Reference;
import jdk.incubator.vector.FloatVector;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.solve.Correction;

/**
 * Corrects planar Y'CbCr frames as the scalar kernel does: luma at every luma sample with chroma interpolated to it, chroma at
 * its own sites with luma averaged to them. Where chroma is halved in width, a row of luma is held as its even and its odd
 * columns, so that both interpolations are sums of neighbours at one index. Used by one thread.
 */
final class PlanarPass {
    /** Floats before a row. */
    private static final int PAD = COUNT;

    private final Runs runs;
    private final PlanarLoops loops = new PlanarLoops();
    private Codes lumaCodes;
    private Codes cbCodes;
    private Codes crCodes;
    private int stagedWidth;
    private boolean stagedEightBit;
    private Scratch rows = new Scratch();
    // Rows, by luma or chroma column; a neighbour to the left of the first is at hand.
    private long even;
    private long odd;
    private long otherEven;
    private long otherOdd;
    private long aboveEven;
    private long aboveOdd;
    private long cb;
    private long cr;
    private long otherChroma;
    private final Scratch block = new Scratch();
    // Of the block in hand.
    private final long rgb = block.floats(3 * BLOCK);
    private final long cbBetween = block.floats(BLOCK);
    private final long crBetween = block.floats(BLOCK);
    private final long factors = block.floats(BLOCK);
    private final long scaledCb = block.floats(BLOCK);
    private final long scaledCr = block.floats(BLOCK);
    private final long lumaAtSites = block.floats(BLOCK);
    private final long atSites = block.floats(BLOCK);
    private final long blueLess = block.floats(BLOCK);
    private final long redLess = block.floats(BLOCK);

    // Of the frame in hand.
    private PlanarFrame frame;
    private final FrameMemory luma = new FrameMemory();
    private final FrameMemory cbPlane = new FrameMemory();
    private final FrameMemory crPlane = new FrameMemory();
    private final FrameMemory lumaOut = new FrameMemory();
    private final FrameMemory cbOut = new FrameMemory();
    private final FrameMemory crOut = new FrameMemory();
    private FrameMemory cbMemory;
    private FrameMemory crMemory;
    private long cbAt;
    private long crAt;
    private int chromaWidth;
    private int chromaHeight;
    private float crToRed;
    private float cbToBlue;

    PlanarPass(Runs runs) {
        this.runs = runs;
    }

    void run(PlanarFrame source, PlanarFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        runs.set(correction, strength);
        try {
            luma.open(source.luma());
            cbPlane.open(source.cb());
            crPlane.open(source.cr());
            lumaOut.open(destination.luma());
            cbOut.open(destination.cb());
            crOut.open(destination.cr());
            prepare(source);
            correct(destination, rowFrom, rowTo);
        } finally {
            frame = null;
            luma.close();
            cbPlane.close();
            crPlane.close();
            lumaOut.close();
            cbOut.close();
            crOut.close();
        }
        Reference.reachabilityFence(source);
        Reference.reachabilityFence(destination);
        // The stages are reached by address as well.
        Reference.reachabilityFence(this);
    }

    private void correct(PlanarFrame out, int rowFrom, int rowTo) {
        int shift = frame.sampling().shiftY();
        for (int row = rowFrom; row < rowTo; row++) {
            touch(row);
            if (frame.sampling() == ChromaSampling.S444) {
                correctFullRow(row, out);
                continue;
            }
            correctLumaRow(row, out);
            if ((row & (1 << shift) - 1) == 0) {
                correctChromaRow(row >> shift, out);
            }
        }
    }

    /** All planes at once: what waits for memory waits side by side. */
    private void touch(int row) {
        int shift = frame.sampling().shiftY();
        lumaCodes.touch(luma, (long) row * frame.lumaStride(), frame.width());
        if ((row & (1 << shift) - 1) == 0) {
            cbCodes.touch(cbPlane, (long) (row >> shift) * frame.chromaStride(), chromaWidth);
            crCodes.touch(crPlane, (long) (row >> shift) * frame.chromaStride(), chromaWidth);
        }
    }

    private void prepare(PlanarFrame source) {
        frame = source;
        chromaWidth = source.sampling().chromaWidth(source.width());
        chromaHeight = source.sampling().chromaHeight(source.height());
        crToRed = (float) source.standard().crDivisor();
        cbToBlue = (float) source.standard().cbDivisor();
        loops.set(source.standard(), runs.changesTone ? runs.tone.scale() : 1f, runs.changesTone ? runs.tone.offset() : 0f);
        boolean eightBit = source.depth() == CodeDepth.BITS8;
        if (source.width() > stagedWidth || eightBit != stagedEightBit) {
            // Nothing is staged until all is: memory may run out halfway, and the next frame come all the same.
            stagedWidth = 0;
            int width = source.width();
            lumaCodes = new Codes(width, eightBit);
            cbCodes = new Codes(width, eightBit);
            crCodes = new Codes(width, eightBit);
            rows = new Scratch();
            even = row(width);
            odd = row(width);
            otherEven = row(width);
            otherOdd = row(width);
            aboveEven = row(width);
            aboveOdd = row(width);
            cb = row(width);
            cr = row(width);
            otherChroma = row(width);
            stagedWidth = width;
            stagedEightBit = eightBit;
        }
    }

    private long row(int width) {
        return rows.floats(PAD + Lanes.roundedUp(width) + 2 * BLOCK) + Float.BYTES * PAD;
    }

    private void correctFullRow(int row, PlanarFrame out) {
        int width = frame.width();
        lumaCodes.read(luma, (long) row * frame.lumaStride(), width, frame.blackCode(), 1f / frame.lumaSpan(), even);
        readChroma(cbPlane, frame.chromaStride(), row, cbCodes, cb);
        readChroma(crPlane, frame.chromaStride(), row, crCodes, cr);
        long lumaAt = (long) row * out.lumaStride();
        long chromaAt = (long) row * out.chromaStride();
        boolean direct = lumaCodes.isWhole(lumaOut, width);
        directChroma(chromaAt, width);
        for (int x = 0; x < width; x += BLOCK) {
            int count = Math.min(BLOCK, Lanes.roundedUp(width - x));
            loops.beginBlock();
            toTone(at(even, x), at(cb, x), at(cr, x), rgb, count);
            correctChroma(count);
            if (runs.strength != 1f) {
                PlanarLoops.mix(atSites, at(even, x), 1f, runs.strength, count);
                mixChroma(x, count);
            }
            lumaCodes.put(atSites, count, 1f / (1f / frame.lumaSpan()), frame.blackCode(), frame.lowestCode(), frame.highestCode(),
                direct ? lumaOut : lumaCodes.stage(), direct ? lumaAt : 0, x);
            putChroma(count, x);
        }
        if (!direct) {
            lumaCodes.finish(lumaOut, lumaAt, width);
        }
        finishChroma(chromaAt, width);
    }

    private void correctLumaRow(int row, PlanarFrame out) {
        readLumaPairs(row, even, odd);
        interpolateChromaRow(row);
        // What lies between an even column's sites and the next: a site to the left or right at the edges is the edge's own.
        repeat(cb, 0, -1);
        repeat(cr, 0, -1);
        repeat(cb, chromaWidth - 1, chromaWidth);
        repeat(cr, chromaWidth - 1, chromaWidth);
        boolean cosited = frame.chromaCosited();
        long lumaAt = (long) row * out.lumaStride();
        boolean direct = lumaCodes.isWholePairs(lumaOut, frame.width());
        FrameMemory memory = direct ? lumaOut : lumaCodes.stage();
        long rowAt = direct ? lumaAt : 0;
        for (int c = 0; c < chromaWidth; c += BLOCK / 2) {
            int count = Math.min(BLOCK / 2, Lanes.roundedUp(chromaWidth - c));
            loops.beginBlock();
            if (cosited) {
                toTone(at(even, c), at(cb, c), at(cr, c), rgb, count);
            } else {
                toToneBetween(at(even, c), c, c - 1, 0.25f, rgb, count);
            }
            toToneBetween(at(odd, c), c, c + 1, cosited ? 0.5f : 0.25f, at(rgb, count), count);
            correctLuma(2 * count);
            if (runs.strength != 1f) {
                PlanarLoops.mix(atSites, at(even, c), 1f, runs.strength, count);
                PlanarLoops.mix(at(atSites, count), at(odd, c), 1f, runs.strength, count);
            }
            lumaCodes.putPairs(atSites, at(atSites, count), count, 1f / (1f / frame.lumaSpan()), frame.blackCode(), frame.lowestCode(),
                frame.highestCode(), memory, rowAt, 2 * c);
        }
        if (!direct) {
            lumaCodes.finish(lumaOut, lumaAt, frame.width());
        }
    }

    /** Follows {@link #correctLumaRow} of the first luma row that it goes with: 4:2:2 still has that row's levels at hand. */
    private void correctChromaRow(int chromaRow, PlanarFrame out) {
        if (frame.sampling().shiftY() == 1) {
            averageLumaRow(chromaRow);
            readChroma(cbPlane, frame.chromaStride(), chromaRow, cbCodes, cb);
            readChroma(crPlane, frame.chromaStride(), chromaRow, crCodes, cr);
        }
        Memory.copy(even, at(odd, -1), 1);
        if ((frame.width() & 1) == 1) {
            Memory.copy(at(even, chromaWidth - 1), at(odd, chromaWidth - 1), 1);
        }
        long chromaAt = (long) chromaRow * out.chromaStride();
        directChroma(chromaAt, chromaWidth);
        for (int c = 0; c < chromaWidth; c += BLOCK) {
            int count = Math.min(BLOCK, Lanes.roundedUp(chromaWidth - c));
            if (frame.chromaCosited()) {
                cositedLuma(at(even, c), at(odd, c), lumaAtSites, count);
            } else {
                centredLuma(at(even, c), at(odd, c), lumaAtSites, count);
            }
            loops.beginBlock();
            toTone(lumaAtSites, at(cb, c), at(cr, c), rgb, count);
            correctChroma(count);
            if (runs.strength != 1f) {
                mixChroma(c, count);
            }
            putChroma(count, c);
        }
        finishChroma(chromaAt, chromaWidth);
    }

    private void readLumaPairs(int row, long even, long odd) {
        lumaCodes.readPairs(luma, (long) row * frame.lumaStride(), frame.width(), frame.blackCode(), 1f / frame.lumaSpan(), even, odd);
    }

    private void readChroma(FrameMemory plane, int stride, int row, Codes codes, long into) {
        codes.read(plane, (long) row * stride, chromaWidth, frame.depth().achromaticCode(), 1f / frame.chromaSpan(), into);
    }

    /** Chroma at the height of a luma row, at chroma columns. */
    private void interpolateChromaRow(int row) {
        int shift = frame.sampling().shiftY();
        int own = row >> shift;
        readChroma(cbPlane, frame.chromaStride(), own, cbCodes, cb);
        readChroma(crPlane, frame.chromaStride(), own, crCodes, cr);
        if (shift == 0) {
            return;
        }
        boolean below = (row & 1) == 1;
        float share = frame.chromaTop() ? below ? 0.5f : 0f : 0.25f;
        int other = below ? Math.min(own + 1, chromaHeight - 1) : Math.max(own - 1, 0);
        if (share == 0f || other == own) {
            return;
        }
        readChroma(cbPlane, frame.chromaStride(), other, cbCodes, otherChroma);
        Runs.between(cb, otherChroma, share, cb, chromaWidth);
        readChroma(crPlane, frame.chromaStride(), other, crCodes, otherChroma);
        Runs.between(cr, otherChroma, share, cr, chromaWidth);
    }

    /** Luma at the height of a chroma row of 4:2:0, at luma columns. */
    private void averageLumaRow(int chromaRow) {
        int own = 2 * chromaRow;
        readLumaPairs(own, even, odd);
        readLumaPairs(Math.min(own + 1, frame.height() - 1), otherEven, otherOdd);
        if (!frame.chromaTop()) {
            Runs.between(even, otherEven, 0.5f, even, chromaWidth);
            Runs.between(odd, otherOdd, 0.5f, odd, chromaWidth);
            return;
        }
        readLumaPairs(Math.max(own - 1, 0), aboveEven, aboveOdd);
        average(even, aboveEven, otherEven, chromaWidth);
        average(odd, aboveOdd, otherOdd, chromaWidth);
    }

    private static long at(long row, int column) {
        return row + (long) Float.BYTES * column;
    }

    private static void repeat(long row, int column, int at) {
        Memory.copy(at(row, column), at(row, at), 1);
    }

    /** To runs, of which {@code rgb} is where R begins, chroma undone. */
    private void toTone(long luma, long cb, long cr, long rgb, int count) {
        if (!runs.changesChromaIn) {
            loops.toTone(luma, cb, cr, rgb, count);
        } else if (runs.fusesChromaIn()) {
            loops.toToneScaled(luma, cb, cr, rgb, count, runs.chromaIn);
        } else {
            Memory.copy(luma, factors, count);
            runs.chromaIn.apply(factors, count);
            PlanarLoops.multiply(cb, factors, scaledCb, count);
            PlanarLoops.multiply(cr, factors, scaledCr, count);
            loops.toTone(luma, scaledCb, scaledCr, rgb, count);
        }
    }

    /** The same with chroma a share of the way from its sites to their neighbours'. */
    private void toToneBetween(long luma, int site, int neighbour, float share, long rgb, int count) {
        Runs.between(at(cb, site), at(cb, neighbour), share, cbBetween, count);
        Runs.between(at(cr, site), at(cr, neighbour), share, crBetween, count);
        toTone(luma, cbBetween, crBetween, rgb, count);
    }

    /** From runs to the luma of the result; redoing chroma leaves luma as it is. */
    private void correctLuma(int count) {
        if (runs.changesTone && loops.isWithinWindow(runs.tone)) {
            loops.lumaOfToned(rgb, count, runs.tone, atSites);
        } else {
            applyTone(count, false);
            loops.lumaOf(rgb, count, atSites);
        }
    }

    /** From runs to the luma of the result, and how far B and R lie above it, in atSites, blueLess and redLess. */
    private void correctChroma(int count) {
        applyTone(count, runs.changesTone && loops.isWithinWindow(runs.tone));
        if (runs.fusesChromaOut()) {
            loops.differencesOfScaled(rgb, count, runs.chromaOut, atSites, blueLess, redLess);
            return;
        }
        loops.differencesOf(rgb, count, atSites, blueLess, redLess);
        if (runs.changesChromaOut) {
            Memory.copy(atSites, factors, count);
            runs.chromaOut.apply(factors, count);
            PlanarLoops.multiply(blueLess, factors, blueLess, count);
            PlanarLoops.multiply(redLess, factors, redLess, count);
        }
    }

    private void applyTone(int count, boolean isWithin) {
        if (!runs.changesTone) {
            return;
        }
        for (int run = 0; run < 3 * BLOCK; run += BLOCK) {
            if (isWithin) {
                runs.tone.applyWithin(at(rgb, run), count);
            } else {
                runs.tone.applyAtPlaces(at(rgb, run), count);
            }
        }
    }

    private void mixChroma(int site, int count) {
        PlanarLoops.mix(blueLess, at(cb, site), cbToBlue, runs.strength, count);
        PlanarLoops.mix(redLess, at(cr, site), crToRed, runs.strength, count);
    }

    /** Where a row of chroma is put. */
    private void directChroma(long rowAt, int samples) {
        boolean cbDirect = cbCodes.isWhole(cbOut, samples);
        boolean crDirect = crCodes.isWhole(crOut, samples);
        cbMemory = cbDirect ? cbOut : cbCodes.stage();
        crMemory = crDirect ? crOut : crCodes.stage();
        cbAt = cbDirect ? rowAt : 0;
        crAt = crDirect ? rowAt : 0;
    }

    private void finishChroma(long rowAt, int samples) {
        if (cbMemory == cbCodes.stage()) {
            cbCodes.finish(cbOut, rowAt, samples);
        }
        if (crMemory == crCodes.stage()) {
            crCodes.finish(crOut, rowAt, samples);
        }
    }

    private void putChroma(int count, int column) {
        float perChromaCode = 1f / frame.chromaSpan();
        cbCodes.put(blueLess, count, 1f / (cbToBlue * perChromaCode), frame.depth().achromaticCode(), frame.lowestCode(),
            frame.highestCode(), cbMemory, cbAt, column);
        crCodes.put(redLess, count, 1f / (crToRed * perChromaCode), frame.depth().achromaticCode(), frame.lowestCode(),
            frame.highestCode(), crMemory, crAt, column);
    }

    private static void cositedLuma(long even, long odd, long into, int count) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector own = FloatVector.fromMemorySegment(F, NATIVE, even + 4L * i, ORDER);
            FloatVector beside = FloatVector.fromMemorySegment(F, NATIVE, odd + 4L * (i - 1), ORDER)
                .add(FloatVector.fromMemorySegment(F, NATIVE, odd + 4L * i, ORDER));
            own.mul(0.5f).add(beside.mul(0.25f)).intoMemorySegment(NATIVE, into + 4L * i, ORDER);
        }
    }

    private static void centredLuma(long even, long odd, long into, int count) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector.fromMemorySegment(F, NATIVE, even + 4L * i, ORDER).add(FloatVector.fromMemorySegment(F, NATIVE, odd + 4L * i, ORDER))
                .mul(0.5f).intoMemorySegment(NATIVE, into + 4L * i, ORDER);
        }
    }

    private static void average(long own, long above, long below, int count) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector beside = FloatVector.fromMemorySegment(F, NATIVE, above + 4L * i, ORDER)
                .add(FloatVector.fromMemorySegment(F, NATIVE, below + 4L * i, ORDER));
            FloatVector.fromMemorySegment(F, NATIVE, own + 4L * i, ORDER).mul(0.5f).add(beside.mul(0.25f))
                .intoMemorySegment(NATIVE, own + 4L * i, ORDER);
        }
    }
}
