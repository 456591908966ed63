// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;

/** One line of the table while it is being timed: a piece of work on a whole frame, and what its rounds took. */
final class Row {
    /** Compares what the work wrote with the truth; throws {@link WrongResultException} where it is wrong. */
    interface Proof {
        void check();
    }

    private final String format;
    private final String pass;
    private final String by;
    private final int threads;
    private final Runnable frame;
    private final Runnable oneCall;
    private final Proof proof;
    private final List<Long> nanos = new ArrayList<>();
    private long allocated = -1;

    /**
     * @param format  of the frame, e.g. {@code rgba float}
     * @param pass    what is done, e.g. {@code three curves}; {@code copy} is what the others are compared with
     * @param by      who does it: a kernel's name, {@code C -O3}, a library
     * @param threads that share the work
     * @param frame   does it once
     * @param oneCall does it once on this thread in a single call, for counting what that allocates
     * @param proof   of the last result
     */
    Row(String format, String pass, String by, int threads, Runnable frame, Runnable oneCall, Proof proof) {
        this.format = format;
        this.pass = pass;
        this.by = by;
        this.threads = threads;
        this.frame = frame;
        this.oneCall = oneCall;
        this.proof = proof;
    }

    /** Runs once without a clock. */
    void warm() {
        frame.run();
    }

    /** Runs once as one call on the calling thread. */
    void callOnce() {
        oneCall.run();
    }

    void time() {
        long from = System.nanoTime();
        frame.run();
        nanos.add(System.nanoTime() - from);
    }

    /** The rounds timed so far count no longer. */
    void forget() {
        nanos.clear();
    }

    void check() {
        proof.check();
    }

    void allocated(long bytes) {
        allocated = bytes;
    }

    String format() {
        return format;
    }

    String pass() {
        return pass;
    }

    String by() {
        return by;
    }

    int threads() {
        return threads;
    }

    Timing timing() {
        double[] ms = nanos.stream().mapToDouble(n -> n / 1e6).toArray();
        return new Timing(format, pass, by, threads, ms.length, median(ms), Arrays.stream(ms).min().orElse(Double.NaN), allocated);
    }

    /** The middle value, or the mean of the two middle ones; NaN of none. */
    static double median(double[] values) {
        double[] sorted = values.clone();
        Arrays.sort(sorted);
        int n = sorted.length;
        return n == 0 ? Double.NaN : n % 2 == 1 ? sorted[n / 2] : 0.5 * (sorted[n / 2 - 1] + sorted[n / 2]);
    }

    /**
     * What a row's rounds came to.
     *
     * @param medianMs  milliseconds a frame
     * @param allocated bytes of Java heap a frame, steady, or -1 where it was not looked at
     */
    record Timing(String format, String pass, String by, int threads, int rounds, double medianMs, double bestMs, long allocated) {
    }
}
