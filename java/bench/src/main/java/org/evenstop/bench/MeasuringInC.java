// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import com.sun.jna.Memory;
import com.sun.jna.Native;
import com.sun.jna.Pointer;
import java.util.List;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.LevelHistogram;
import org.evenstop.engine.measure.LevelSummary;
import org.evenstop.engine.measure.Measurement;

/**
 * Measuring in C at -O3 (native/bench/measure.c): a histogram of luma with chroma by zone, and what the engine counts. RGBA float frames in
 * native memory, in parts with results of their own.
 */
final class MeasuringInC {
    private static final int BINS = 1024;
    private static final int ZONES = 16;
    private static final long HISTOGRAM_BYTES = 8L * BINS + 32L * ZONES;
    private static final int STEPS = LevelHistogram.SIZE;
    private static final int NOISE_BINS = 4096;
    private static final long LOWEST_AT = 8L * (7 * STEPS + 2 * NOISE_BINS);
    private static final long TALLY_BYTES = LOWEST_AT + 8;
    /** Where each histogram lies in the C structure. */
    private static final int LUMA = 0;
    private static final int RED = 1;
    private static final int GREEN = 2;
    private static final int BLUE = 3;
    private static final int SITES = 4;
    private static final int SKIN = 6;
    /** A step of the histograms in percent of level, and what rounding leaves of a printed one. */
    private static final double STEP = 100.0 / LevelHistogram.STEPS_PER_UNIT;
    private static final double PRINTED = 0.002;

    private static final class Baseline {
        static {
            Native.register(Baseline.class, CurvesInC.library());
        }

        static native void evb_histogram(long rgba, long pixels, long result);

        static native void evb_measure(long rgba, int width, int rows, long result);
    }

    private static final class ForThisProcessor {
        static {
            Native.register(ForThisProcessor.class, CurvesInC.library());
        }

        static native void evb_histogram_native(long rgba, long pixels, long result);

        static native void evb_measure_native(long rgba, int width, int rows, long result);
    }

    private final boolean forThisProcessor;
    private final List<PackedFrame> parts;
    private final long[] at;
    private final Memory[] found;
    private Measurement[] engine;

    /** @param forThisProcessor the build with -march=native, else that for any processor of the family */
    MeasuringInC(List<PackedFrame> parts, long address, boolean whole, boolean forThisProcessor) {
        this.forThisProcessor = forThisProcessor;
        this.parts = parts;
        at = new long[parts.size()];
        found = new Memory[parts.size()];
        for (int i = 0; i < at.length; i++) {
            at[i] = address + parts.get(i).rowOffset(0);
            found[i] = new Memory(whole ? TALLY_BYTES : HISTOGRAM_BYTES);
        }
    }

    void histogram(int part) {
        PackedFrame frame = parts.get(part);
        long pixels = (long) frame.width() * frame.height();
        found[part].clear();
        if (forThisProcessor) {
            ForThisProcessor.evb_histogram_native(at[part], pixels, Pointer.nativeValue(found[part]));
        } else {
            Baseline.evb_histogram(at[part], pixels, Pointer.nativeValue(found[part]));
        }
    }

    void measure(int part) {
        PackedFrame frame = parts.get(part);
        found[part].clear();
        found[part].setFloat(LOWEST_AT, Float.POSITIVE_INFINITY);
        found[part].setFloat(LOWEST_AT + 4, Float.NEGATIVE_INFINITY);
        if (forThisProcessor) {
            ForThisProcessor.evb_measure_native(at[part], frame.width(), frame.height(), Pointer.nativeValue(found[part]));
        } else {
            Baseline.evb_measure(at[part], frame.width(), frame.height(), Pointer.nativeValue(found[part]));
        }
    }

    private Measurement engine(int part) {
        if (engine == null) {
            engine = new Measurement[parts.size()];
            for (int i = 0; i < engine.length; i++) {
                ClipMeter meter = new ClipMeter(LumaStandard.BT709);
                meter.add(parts.get(i), 0);
                engine[i] = meter.finish("part " + i);
            }
        }
        return engine[part];
    }

    /** The median lies where the engine finds it, and zones hold every pixel. */
    void checkHistogram(String who) {
        for (int part = 0; part < found.length; part++) {
            long[] luma = found[part].getLongArray(0, BINS);
            long pixels = (long) parts.get(part).width() * parts.get(part).height();
            double inZones = 0;
            for (int zone = 0; zone < ZONES; zone++) {
                inZones += found[part].getDouble(8L * BINS + 32L * zone);
            }
            near(who, "pixels in zones", inZones, pixels, 0);
            near(who, "median", 100.0 * percentile(luma, 500) / (BINS - 1), engine(part).levels().p50(), STEP);
        }
    }

    /** Levels, skin and zones are those of the engine; tiles of noise are all there. */
    void checkMeasure(String who) {
        for (int part = 0; part < found.length; part++) {
            Measurement m = engine(part);
            checkLevels(who, part, LUMA, m.levels());
            near(who, "least luma", 100 * found[part].getFloat(LOWEST_AT), m.levels().min(), PRINTED);
            near(who, "greatest luma", 100 * found[part].getFloat(LOWEST_AT + 4), m.levels().max(), PRINTED);
            checkLevels(who, part, RED, m.red());
            checkLevels(who, part, GREEN, m.green());
            checkLevels(who, part, BLUE, m.blue());
            long[] sites = counts(part, SITES);
            near(who, "skin", total(counts(part, SKIN)) / (double) total(sites), m.skin().share(), 1e-5);
            int zones = m.chroma().size();
            for (int zone = 0; zone < zones; zone++) {
                long inZone = 0;
                for (int step = 0; step < STEPS; step++) {
                    inZone += step * zones / STEPS == zone ? sites[step] : 0;
                }
                near(who, "share of zone " + zone, inZone / (double) total(sites), m.chroma().get(zone).share(), 1e-5);
            }
            int across = parts.get(part).width() / 16;
            int down = parts.get(part).height() / 16;
            long tiles = total(found[part].getLongArray(8L * 7 * STEPS, NOISE_BINS));
            near(who, "tiles", tiles, across * down, 0.5 * across * down);
        }
    }

    private void checkLevels(String who, int part, int which, LevelSummary levels) {
        long[] counts = counts(part, which);
        double[] expected = {levels.p0_5(), levels.p10(), levels.p50(), levels.p90(), levels.p99_5()};
        int[] tenths = {5, 100, 500, 900, 995};
        for (int i = 0; i < tenths.length; i++) {
            near(who, "percentile " + tenths[i] / 10.0, 100 * LevelHistogram.levelOf(percentile(counts, tenths[i])), expected[i], PRINTED);
        }
    }

    private long[] counts(int part, int which) {
        return found[part].getLongArray(8L * which * STEPS, STEPS);
    }

    private static long total(long[] counts) {
        long sum = 0;
        for (long c : counts) {
            sum += c;
        }
        return sum;
    }

    private static int percentile(long[] counts, int tenths) {
        long total = total(counts);
        long sum = 0;
        int i = -1;
        do {
            i++;
            sum += counts[i];
        } while (i < counts.length - 1 && (counts[i] == 0 || sum * 1000 < total * tenths));
        return i;
    }

    private static void near(String who, String what, double got, double expected, double within) {
        if (!(Math.abs(got - expected) <= within)) {
            throw new WrongResultException(who + ", measuring: " + what + " is " + got + ", the engine finds " + expected);
        }
    }
}
