// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import org.evenstop.engine.kernel.ScalarKernel;

/**
 * The budgets of the program. Those for 512-bit vectors, for the scalar kernel, measuring, the host and renders are requirements of the
 * design; those for narrower vectors are our own choice, set from what was measured, so that a narrower machine is watched as well.
 */
final class Budgets {
    private static final String FLOAT = "rgba float";
    private static final String PLANAR = "yuv 422 10";
    private static final String ALL = Corrections.ALL.label();
    private static final String TONE = Corrections.TONE.label();
    private static final String CHROMA = Corrections.CHROMA.label();
    private static final String C = "C -O3";
    private static final int FIRST_VECTOR_JDK = 25;

    static final double SCALAR_TO_COPY = 8;
    static final double SCALAR_TO_C = 1.2;
    static final double PLANAR_MS = 20;
    static final double PLANAR_TO_C = 1.5;
    static final double MEASURE_MS = 16;
    /** The same without a machine of the design's speed: its 16 ms to the 11 ms that its anchor, C at -O3, took there. */
    static final double MEASURE_TO_C = 16.0 / 11.0;
    static final double SAMPLED_MS = 5;
    /** The same with 256-bit registers: a fifth above a run with {@code -XX:UseAVX=2} (own choice). */
    static final double SAMPLED_MS_256 = 6.2;
    /** Where registers are too narrow for the vector loops: 15 % above the larger of two runs with {@code -XX:UseAVX=1} (own choice). */
    static final double SCALAR_MEASURE_TO_C = 2.2;
    /** Bytes of Java heap for one frame in one call. None means none: to ask a thread what it has allocated, and to call a row, allocate nothing. */
    static final double ALLOCATED = 0;
    static final double OCIO_TIMES = 8;
    static final double FFMPEG_TIMES = 1.5;
    static final double LOAD_MS = 5;
    static final double COLD_MS = 250;
    static final double ADDED_MB = 120;
    static final double HOST_TO_BARE = 1.15;
    static final double RENDER_TO_CODEC = 1.05;

    private Budgets() {
    }

    /**
     * Largest times to a copy: three curves, tone only, chroma only. Those for 256 bit lie a fifth above the largest of three runs with
     * {@code -XX:UseAVX=2} on a machine whose copy takes 7 to 8 ms (docs/speed.md). Narrower registers are refused: scalar code serves.
     */
    static double[] vectorToCopy(int bits) {
        return bits >= 512 ? new double[] {2.0, 1.4, 1.4} : new double[] {8.7, 5.1, 3.0};
    }

    /** Adds the budgets of what was timed in this process. */
    static void judge(Results r, Machine machine) {
        String scalar = new ScalarKernel().name();
        if (machine.isVector()) {
            double[] limits = vectorToCopy(machine.vectorBits());
            String[] passes = {ALL, TONE, CHROMA};
            for (int i = 0; i < passes.length; i++) {
                for (int t = 1; t <= 2; t++) {
                    r.add(Budget.atMost(passes[i] + ", " + FLOAT + ", " + machine.vectorBits() + "-bit vectors, " + threads(t) + ": time to a copy",
                        limits[i], r.toCopy(FLOAT, passes[i], machine.kernel(), t), "x"));
                }
            }
        }
        boolean older = Runtime.version().feature() < FIRST_VECTOR_JDK;
        if (older) {
            r.add(Budget.atMost(ALL + ", " + FLOAT + ", scalar kernel, 2 threads: time to a copy", SCALAR_TO_COPY,
                r.toCopy(FLOAT, ALL, scalar, 2), "x"));
        }
        if (!machine.isVector()) {
            for (int t = 1; t <= 2; t++) {
                r.add(Budget.atMost(ALL + ", " + FLOAT + ", scalar kernel, " + threads(t) + ": time to the same in C at -O3", SCALAR_TO_C,
                    r.ms(FLOAT, ALL, scalar, t) / r.ms(FLOAT, ALL, C, t), "x"));
            }
        }
        planar(r, machine);
        if (machine.isVector() || older) {
            measuring(r, machine);
        } else {
            r.add(Budget.atMost("measuring every pixel, " + FLOAT + ", scalar loops, 2 threads: time to the same in C at -O3", SCALAR_MEASURE_TO_C,
                everyPixel(r) / r.ms(FLOAT, KernelBench.EVERY_PIXEL, C, 2), "x"));
        }
        double most = r.timings().stream().filter(t -> t.by().equals(machine.kernel()))
            .mapToDouble(t -> t.threads() == 1 && t.allocated() >= 0 ? t.allocated() : Double.NaN).filter(b -> !Double.isNaN(b)).max()
            .orElse(Double.NaN);
        r.add(Budget.atMost("Java heap allocated for a frame, " + machine.kernel() + " kernel, most of all formats and passes", ALLOCATED, most,
            "bytes"));
        for (int t = 1; t <= 2; t++) {
            double own = r.ms(FLOAT, ALL, machine.kernel(), t);
            r.add(Budget.goal("OpenColorIO's 3-D table to three curves, " + threads(t), OCIO_TIMES, r.ms(FLOAT, "3-D table", "OpenColorIO", t) / own));
            r.add(Budget.goal("FFmpeg's float lut3d to three curves, " + threads(t), FFMPEG_TIMES, r.ms(FLOAT, "3-D table", "FFmpeg", t) / own));
        }
    }

    private static double everyPixel(Results r) {
        return r.ms(FLOAT, KernelBench.EVERY_PIXEL, KernelBench.MEASURED_BY, 2);
    }

    private static void measuring(Results r, Machine machine) {
        r.add(Budget.atMost("measuring every pixel of a UHD frame, " + FLOAT + ", 2 threads", MEASURE_MS, everyPixel(r), "ms"));
        r.add(Budget.atMost("the same: time to luma and zones alone in C at -O3 (the design's 16 to 11 ms)", MEASURE_TO_C,
            everyPixel(r) / r.ms(FLOAT, KernelBench.HISTOGRAM, C, 2), "x"));
        boolean narrow = machine.isVector() && machine.vectorBits() < 512;
        r.add(Budget.atMost("measuring a UHD frame as it is sampled, " + FLOAT + ", 1 thread", narrow ? SAMPLED_MS_256 : SAMPLED_MS,
            r.ms(FLOAT, KernelBench.SAMPLED, KernelBench.MEASURED_BY, 1), "ms"));
    }

    /** Either a time or a relation to C will do: the one that is nearer to being kept is shown. */
    private static void planar(Results r, Machine machine) {
        double ms = r.ms(PLANAR, ALL, machine.kernel(), 2);
        double toC = ms / r.ms(PLANAR, ALL, C, 2);
        String what = ALL + ", " + PLANAR + ", 2 threads";
        if (ms <= PLANAR_MS || !(toC <= PLANAR_TO_C)) {
            r.add(Budget.atMost(what + (ms <= PLANAR_MS || Double.isNaN(toC) ? "" : " (or 1.5 x the same in C at -O3)"), PLANAR_MS, ms, "ms"));
        } else {
            r.add(Budget.atMost(what + ": time to the same in C at -O3 (20 ms would do as well)", PLANAR_TO_C, toC, "x"));
        }
    }

    static String threads(int t) {
        return t == 1 ? "1 thread" : t + " threads";
    }
}
