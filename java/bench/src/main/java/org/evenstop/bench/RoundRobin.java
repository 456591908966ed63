// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.lang.management.CompilationMXBean;
import java.lang.management.ManagementFactory;
import java.util.List;

/**
 * Times the rows of one group against each other: all are warmed, then each runs once a round, so that whatever the machine does
 * meanwhile meets all of them alike.
 */
final class RoundRobin {
    /** Rounds at least and at most; between the two the group's time decides. */
    static final int FEWEST = 7;
    static final int MOST = 21;
    private static final int WARM_ROUNDS = 3;
    private static final double WARM_SECONDS = 1.5;
    /** Compilers are done when they have worked less than this share of so many seconds; no longer is waited than the last (own choice). */
    private static final double QUIET_SHARE = 0.03;
    private static final double QUIET_SECONDS = 1.5;
    private static final double MOST_SECONDS_TO_QUIET = 30;

    private RoundRobin() {
    }

    /**
     * Checks, warms, times and checks again.
     *
     * @param seconds the timed rounds may take, once the fewest are done
     * @throws WrongResultException when a row computes the wrong picture, before or after it was compiled
     */
    static void run(List<Row> rows, double seconds) {
        for (Row row : rows) {
            row.warm();
            row.check();
        }
        // A row is warm when it was run for a while: compilers and kernels that take over later work in the background.
        for (Row row : rows) {
            long from = System.nanoTime();
            int round = 0;
            while (round < WARM_ROUNDS || (System.nanoTime() - from) / 1e9 < WARM_SECONDS / rows.size() * 4 && round < 200) {
                row.warm();
                round++;
            }
        }
        settle(rows);
        long from = System.nanoTime();
        for (int round = 0; round < MOST && (round < FEWEST || (System.nanoTime() - from) / 1e9 < seconds); round++) {
            for (Row row : rows) {
                row.time();
            }
        }
        for (Row row : rows) {
            row.warm();
            row.check();
            if (row.threads() == 1) {
                row.allocated(allocation(row));
            }
        }
    }

    /** Times one row that was run before, some rounds without a clock first; the median, milliseconds. */
    static double again(Row row) {
        for (int round = 0; round < MOST; round++) {
            row.warm();
        }
        row.forget();
        for (int round = 0; round < MOST; round++) {
            row.time();
        }
        return row.timing().medianMs();
    }

    /** Runs the rows until compilers are quiet: while they work they take one of the cores from what is timed on all of them. */
    private static void settle(List<Row> rows) {
        CompilationMXBean compilers = ManagementFactory.getCompilationMXBean();
        if (compilers == null || !compilers.isCompilationTimeMonitoringSupported()) {
            return;
        }
        long begin = System.nanoTime();
        boolean quiet = false;
        while (!quiet && (System.nanoTime() - begin) / 1e9 < MOST_SECONDS_TO_QUIET) {
            long from = System.nanoTime();
            long compiledMs = compilers.getTotalCompilationTime();
            double seconds;
            do {
                for (Row row : rows) {
                    row.warm();
                }
                seconds = (System.nanoTime() - from) / 1e9;
            } while (seconds < QUIET_SECONDS);
            quiet = compilers.getTotalCompilationTime() - compiledMs < 1e3 * QUIET_SHARE * seconds;
        }
    }

    /** Bytes that one frame allocates on the calling thread, done in a single call; or -1 where this VM does not tell. */
    private static long allocation(Row row) {
        if (!(ManagementFactory.getThreadMXBean() instanceof com.sun.management.ThreadMXBean threads)
            || !threads.isThreadAllocatedMemorySupported() || !threads.isThreadAllocatedMemoryEnabled()) {
            return -1;
        }
        long id = Thread.currentThread().getId();
        long least = Long.MAX_VALUE;
        for (int i = 0; i < 12; i++) {
            long before = threads.getThreadAllocatedBytes(id);
            row.callOnce();
            least = Math.min(least, threads.getThreadAllocatedBytes(id) - before);
        }
        return least;
    }
}
