// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Runs.BLOCK;

import java.lang.foreign.MemorySegment;
import java.lang.ref.Reference;
import java.nio.ByteBuffer;
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
    /** Runs of a row begin here: a neighbour to the left is at hand. */
    private static final int PAD = COUNT;

    private final Runs runs;
    private final PlanarLoops loops = new PlanarLoops();
    private Codes lumaCodes;
    private Codes cbCodes;
    private Codes crCodes;
    private int stagedWidth;
    private boolean stagedEightBit;
    // Rows, by luma or chroma column, from PAD on.
    private float[] even = {};
    private float[] odd = {};
    private float[] otherEven = {};
    private float[] otherOdd = {};
    private float[] aboveEven = {};
    private float[] aboveOdd = {};
    private float[] cb = {};
    private float[] cr = {};
    private float[] otherChroma = {};
    // Of the block in hand.
    private final float[] cbBetween = new float[BLOCK];
    private final float[] crBetween = new float[BLOCK];
    private final float[] factors = new float[BLOCK];
    private final float[] scaledCb = new float[BLOCK];
    private final float[] scaledCr = new float[BLOCK];
    private final float[] lumaAtSites = new float[BLOCK];
    private final float[] atSites = new float[BLOCK];
    private final float[] blueLess = new float[BLOCK];
    private final float[] redLess = new float[BLOCK];

    // Of the frame in hand.
    private PlanarFrame frame;
    private MemorySegment luma;
    private MemorySegment cbPlane;
    private MemorySegment crPlane;
    private MemorySegment cbMemory;
    private MemorySegment crMemory;
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
        prepare(source);
        MemorySegment lumaOut = whole(destination.luma());
        MemorySegment cbOut = whole(destination.cb());
        MemorySegment crOut = whole(destination.cr());
        int shift = source.sampling().shiftY();
        for (int row = rowFrom; row < rowTo; row++) {
            if (source.sampling() == ChromaSampling.S444) {
                correctFullRow(row, lumaOut, cbOut, crOut, destination);
                continue;
            }
            correctLumaRow(row, lumaOut, destination);
            if ((row & (1 << shift) - 1) == 0) {
                correctChromaRow(row >> shift, cbOut, crOut, destination);
            }
        }
        Reference.reachabilityFence(source);
        Reference.reachabilityFence(destination);
        // The stages are reached by address as well.
        Reference.reachabilityFence(this);
        frame = null;
        luma = null;
        cbPlane = null;
        crPlane = null;
        cbMemory = null;
        crMemory = null;
    }

    private static MemorySegment whole(ByteBuffer plane) {
        return Memory.open(MemorySegment.ofBuffer(plane));
    }

    private void prepare(PlanarFrame source) {
        frame = source;
        luma = whole(source.luma());
        cbPlane = whole(source.cb());
        crPlane = whole(source.cr());
        chromaWidth = source.sampling().chromaWidth(source.width());
        chromaHeight = source.sampling().chromaHeight(source.height());
        crToRed = (float) source.standard().crDivisor();
        cbToBlue = (float) source.standard().cbDivisor();
        loops.set(source.standard(), runs.changesTone ? runs.tone.scale() : 1f, runs.changesTone ? runs.tone.offset() : 0f);
        boolean eightBit = source.depth() == CodeDepth.BITS8;
        if (source.width() > stagedWidth || eightBit != stagedEightBit) {
            stagedWidth = source.width();
            stagedEightBit = eightBit;
            lumaCodes = new Codes(stagedWidth, eightBit);
            cbCodes = new Codes(stagedWidth, eightBit);
            crCodes = new Codes(stagedWidth, eightBit);
            int length = Lanes.roundedUp(stagedWidth) + 2 * BLOCK;
            even = new float[length];
            odd = new float[length];
            otherEven = new float[length];
            otherOdd = new float[length];
            aboveEven = new float[length];
            aboveOdd = new float[length];
            cb = new float[length];
            cr = new float[length];
            otherChroma = new float[length];
        }
    }

    private void correctFullRow(int row, MemorySegment lumaOut, MemorySegment cbOut, MemorySegment crOut, PlanarFrame out) {
        int width = frame.width();
        lumaCodes.read(luma, (long) row * frame.lumaStride(), width, frame.blackCode(), 1f / frame.lumaSpan(), even, PAD);
        readChroma(cbPlane, frame.chromaStride(), row, cbCodes, cb);
        readChroma(crPlane, frame.chromaStride(), row, crCodes, cr);
        long lumaAt = (long) row * out.lumaStride();
        long chromaAt = (long) row * out.chromaStride();
        boolean direct = lumaCodes.isWhole(lumaOut, width);
        directChroma(cbOut, crOut, chromaAt, width);
        for (int x = 0; x < width; x += BLOCK) {
            int count = Math.min(BLOCK, Lanes.roundedUp(width - x));
            loops.beginBlock();
            toTone(even, PAD + x, cb, cr, PAD + x, 0, count);
            correctChroma(count);
            if (runs.strength != 1f) {
                PlanarLoops.mix(atSites, 0, even, PAD + x, 1f, runs.strength, count);
                mixChroma(PAD + x, count);
            }
            lumaCodes.put(atSites, 0, count, 1f / (1f / frame.lumaSpan()), frame.blackCode(), frame.lowestCode(), frame.highestCode(),
                direct ? lumaOut : lumaCodes.stage(), direct ? lumaAt : 0, x);
            putChroma(count, x);
        }
        if (!direct) {
            lumaCodes.finish(lumaOut, lumaAt, width);
        }
        finishChroma(cbOut, crOut, chromaAt, width);
    }

    private void correctLumaRow(int row, MemorySegment lumaOut, PlanarFrame out) {
        readLumaPairs(row, even, odd);
        interpolateChromaRow(row);
        // What lies between an even column's sites and the next: a site to the left or right at the edges is the edge's own.
        cb[PAD - 1] = cb[PAD];
        cr[PAD - 1] = cr[PAD];
        cb[PAD + chromaWidth] = cb[PAD + chromaWidth - 1];
        cr[PAD + chromaWidth] = cr[PAD + chromaWidth - 1];
        boolean cosited = frame.chromaCosited();
        long lumaAt = (long) row * out.lumaStride();
        boolean direct = lumaCodes.isWholePairs(lumaOut, frame.width());
        MemorySegment memory = direct ? lumaOut : lumaCodes.stage();
        long rowAt = direct ? lumaAt : 0;
        for (int c = 0; c < chromaWidth; c += BLOCK / 2) {
            int count = Math.min(BLOCK / 2, Lanes.roundedUp(chromaWidth - c));
            loops.beginBlock();
            if (cosited) {
                toTone(even, PAD + c, cb, cr, PAD + c, 0, count);
            } else {
                toToneBetween(even, PAD + c, PAD + c - 1, 0.25f, 0, count);
            }
            toToneBetween(odd, PAD + c, PAD + c + 1, cosited ? 0.5f : 0.25f, count, count);
            correctLuma(2 * count);
            if (runs.strength != 1f) {
                PlanarLoops.mix(atSites, 0, even, PAD + c, 1f, runs.strength, count);
                PlanarLoops.mix(atSites, count, odd, PAD + c, 1f, runs.strength, count);
            }
            lumaCodes.putPairs(atSites, 0, count, count, 1f / (1f / frame.lumaSpan()), frame.blackCode(), frame.lowestCode(),
                frame.highestCode(), memory, rowAt, 2 * c);
        }
        if (!direct) {
            lumaCodes.finish(lumaOut, lumaAt, frame.width());
        }
    }

    /** Follows {@link #correctLumaRow} of the first luma row that it goes with: 4:2:2 still has that row's levels at hand. */
    private void correctChromaRow(int chromaRow, MemorySegment cbOut, MemorySegment crOut, PlanarFrame out) {
        if (frame.sampling().shiftY() == 1) {
            averageLumaRow(chromaRow);
            readChroma(cbPlane, frame.chromaStride(), chromaRow, cbCodes, cb);
            readChroma(crPlane, frame.chromaStride(), chromaRow, crCodes, cr);
        }
        odd[PAD - 1] = even[PAD];
        if ((frame.width() & 1) == 1) {
            odd[PAD + chromaWidth - 1] = even[PAD + chromaWidth - 1];
        }
        long chromaAt = (long) chromaRow * out.chromaStride();
        directChroma(cbOut, crOut, chromaAt, chromaWidth);
        for (int c = 0; c < chromaWidth; c += BLOCK) {
            int count = Math.min(BLOCK, Lanes.roundedUp(chromaWidth - c));
            if (frame.chromaCosited()) {
                cositedLuma(even, odd, PAD + c, lumaAtSites, count);
            } else {
                centredLuma(even, odd, PAD + c, lumaAtSites, count);
            }
            loops.beginBlock();
            toTone(lumaAtSites, 0, cb, cr, PAD + c, 0, count);
            correctChroma(count);
            if (runs.strength != 1f) {
                mixChroma(PAD + c, count);
            }
            putChroma(count, c);
        }
        finishChroma(cbOut, crOut, chromaAt, chromaWidth);
    }

    private void readLumaPairs(int row, float[] even, float[] odd) {
        lumaCodes.readPairs(luma, (long) row * frame.lumaStride(), frame.width(), frame.blackCode(), 1f / frame.lumaSpan(), even, odd, PAD);
    }

    private void readChroma(MemorySegment plane, int stride, int row, Codes codes, float[] into) {
        codes.read(plane, (long) row * stride, chromaWidth, frame.depth().achromaticCode(), 1f / frame.chromaSpan(), into, PAD);
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
        mix(cb, otherChroma, share, PAD, PAD + chromaWidth);
        readChroma(crPlane, frame.chromaStride(), other, crCodes, otherChroma);
        mix(cr, otherChroma, share, PAD, PAD + chromaWidth);
    }

    /** Luma at the height of a chroma row of 4:2:0, at luma columns. */
    private void averageLumaRow(int chromaRow) {
        int own = 2 * chromaRow;
        readLumaPairs(own, even, odd);
        readLumaPairs(Math.min(own + 1, frame.height() - 1), otherEven, otherOdd);
        if (!frame.chromaTop()) {
            mix(even, otherEven, 0.5f, PAD, PAD + chromaWidth);
            mix(odd, otherOdd, 0.5f, PAD, PAD + chromaWidth);
            return;
        }
        readLumaPairs(Math.max(own - 1, 0), aboveEven, aboveOdd);
        average(even, aboveEven, otherEven, PAD, PAD + chromaWidth);
        average(odd, aboveOdd, otherOdd, PAD, PAD + chromaWidth);
    }

    /** To runs from {@code run} on, chroma undone. */
    private void toTone(float[] luma, int lumaAt, float[] cb, float[] cr, int site, int run, int count) {
        if (!runs.changesChromaIn) {
            loops.toTone(luma, lumaAt, cb, cr, site, runs.rgb, run, count);
        } else if (runs.fusesChromaIn()) {
            loops.toToneScaled(luma, lumaAt, cb, cr, site, runs.rgb, run, count, runs.chromaIn);
        } else {
            System.arraycopy(luma, lumaAt, factors, 0, count);
            runs.chromaIn.apply(factors, 0, count);
            PlanarLoops.multiply(cb, site, factors, scaledCb, count);
            PlanarLoops.multiply(cr, site, factors, scaledCr, count);
            loops.toTone(luma, lumaAt, scaledCb, scaledCr, 0, runs.rgb, run, count);
        }
    }

    /** The same with chroma a share of the way from its sites to their neighbours'. */
    private void toToneBetween(float[] luma, int at, int neighbour, float share, int run, int count) {
        PlanarLoops.between(cb, at, neighbour, share, cbBetween, 0, count);
        PlanarLoops.between(cr, at, neighbour, share, crBetween, 0, count);
        toTone(luma, at, cbBetween, crBetween, 0, run, count);
    }

    /** From runs to the luma of the result; redoing chroma leaves luma as it is. */
    private void correctLuma(int count) {
        int register = runs.changesTone ? loops.registerOf(runs.tone) : -1;
        if (register >= 0) {
            loops.lumaOfToned(runs.rgb, count, runs.tone, register, atSites);
        } else {
            applyTone(count, register);
            loops.lumaOf(runs.rgb, count, atSites);
        }
    }

    /** From runs to the luma of the result, and how far B and R lie above it, in atSites, blueLess and redLess. */
    private void correctChroma(int count) {
        applyTone(count, runs.changesTone ? loops.registerOf(runs.tone) : -1);
        if (runs.fusesChromaOut()) {
            loops.differencesOfScaled(runs.rgb, count, runs.chromaOut, atSites, blueLess, redLess);
            return;
        }
        loops.differencesOf(runs.rgb, count, atSites, blueLess, redLess);
        if (runs.changesChromaOut) {
            System.arraycopy(atSites, 0, factors, 0, count);
            runs.chromaOut.apply(factors, 0, count);
            PlanarLoops.multiply(blueLess, 0, factors, blueLess, count);
            PlanarLoops.multiply(redLess, 0, factors, redLess, count);
        }
    }

    private void applyTone(int count, int register) {
        if (!runs.changesTone) {
            return;
        }
        for (int run = 0; run < 3 * BLOCK; run += BLOCK) {
            if (register >= 0) {
                runs.tone.applyWithin(runs.rgb, run, count, register);
            } else {
                runs.tone.applyAtPlaces(runs.rgb, run, count);
            }
        }
    }

    private void mixChroma(int site, int count) {
        PlanarLoops.mix(blueLess, 0, cb, site, cbToBlue, runs.strength, count);
        PlanarLoops.mix(redLess, 0, cr, site, crToRed, runs.strength, count);
    }

    /** Where a row of chroma is put. */
    private void directChroma(MemorySegment cbOut, MemorySegment crOut, long rowAt, int samples) {
        boolean cbDirect = cbCodes.isWhole(cbOut, samples);
        boolean crDirect = crCodes.isWhole(crOut, samples);
        cbMemory = cbDirect ? cbOut : cbCodes.stage();
        crMemory = crDirect ? crOut : crCodes.stage();
        cbAt = cbDirect ? rowAt : 0;
        crAt = crDirect ? rowAt : 0;
    }

    private void finishChroma(MemorySegment cbOut, MemorySegment crOut, long rowAt, int samples) {
        if (cbMemory == cbCodes.stage()) {
            cbCodes.finish(cbOut, rowAt, samples);
        }
        if (crMemory == crCodes.stage()) {
            crCodes.finish(crOut, rowAt, samples);
        }
    }

    private void putChroma(int count, int column) {
        float perChromaCode = 1f / frame.chromaSpan();
        cbCodes.put(blueLess, 0, count, 1f / (cbToBlue * perChromaCode), frame.depth().achromaticCode(), frame.lowestCode(),
            frame.highestCode(), cbMemory, cbAt, column);
        crCodes.put(redLess, 0, count, 1f / (crToRed * perChromaCode), frame.depth().achromaticCode(), frame.lowestCode(),
            frame.highestCode(), crMemory, crAt, column);
    }

    private static void cositedLuma(float[] even, float[] odd, int site, float[] into, int count) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector own = FloatVector.fromArray(F, even, site + i);
            FloatVector beside = FloatVector.fromArray(F, odd, site + i - 1).add(FloatVector.fromArray(F, odd, site + i));
            own.mul(0.5f).add(beside.mul(0.25f)).intoArray(into, i);
        }
    }

    private static void centredLuma(float[] even, float[] odd, int site, float[] into, int count) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector.fromArray(F, even, site + i).add(FloatVector.fromArray(F, odd, site + i)).mul(0.5f).intoArray(into, i);
        }
    }

    private static void mix(float[] own, float[] other, float share, int from, int to) {
        FloatVector part = FloatVector.broadcast(F, share);
        for (int i = from; i < to; i += COUNT) {
            FloatVector v = FloatVector.fromArray(F, own, i);
            FloatVector.fromArray(F, other, i).sub(v).fma(part, v).intoArray(own, i);
        }
    }

    private static void average(float[] own, float[] above, float[] below, int from, int to) {
        for (int i = from; i < to; i += COUNT) {
            FloatVector beside = FloatVector.fromArray(F, above, i).add(FloatVector.fromArray(F, below, i));
            FloatVector.fromArray(F, own, i).mul(0.5f).add(beside.mul(0.25f)).intoArray(own, i);
        }
    }
}
