// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.util.concurrent.atomic.AtomicInteger;
import java.util.concurrent.locks.LockSupport;

/**
 * The threads of a timed run. A frame is cut into bands of rows; each thread takes the next band that nobody has taken. Nothing is
 * allocated per frame. One frame at a time; the calling thread is one of the crew.
 */
final class Crew implements AutoCloseable {
    /** Rows of a band: even, so that no 4:2:0 chroma row is shared, and small enough that the threads end together. */
    static final int BAND = 40;

    /** Some rows of a frame. */
    interface Bands {
        /** Rows {@code from} to {@code to - 1}; called by several threads at once on different rows. */
        void rows(int from, int to);
    }

    private final Thread[] others;
    private final AtomicInteger next = new AtomicInteger();
    private final AtomicInteger busy = new AtomicInteger();
    private volatile int round;
    private volatile boolean over;
    private volatile Throwable failure;
    private Bands bands;
    private int height;
    private final Thread caller = Thread.currentThread();

    /** @param threads 1 or more, the caller among them */
    Crew(int threads) {
        others = new Thread[threads - 1];
        for (int i = 0; i < others.length; i++) {
            others[i] = new Thread(this::serve, "evenstop-bench-" + (i + 2));
            others[i].setDaemon(true);
            others[i].start();
        }
    }

    /** Runs all rows of one frame and returns when the last is done. */
    void run(Bands work, int rows) {
        if (Thread.currentThread() != caller) {
            throw new IllegalStateException("a crew serves the thread that made it");
        }
        bands = work;
        height = rows;
        next.set(0);
        busy.set(others.length);
        round++;
        for (Thread other : others) {
            LockSupport.unpark(other);
        }
        takeBands();
        while (busy.get() > 0) {
            LockSupport.park(this);
        }
        Throwable failed = failure;
        if (failed != null) {
            failure = null;
            throw failed instanceof RuntimeException exception ? exception : new IllegalStateException(failed);
        }
    }

    private void takeBands() {
        try {
            for (int from = next.getAndAdd(BAND); from < height; from = next.getAndAdd(BAND)) {
                bands.rows(from, Math.min(height, from + BAND));
            }
        } catch (Throwable failed) {
            failure = failed;
        }
    }

    private void serve() {
        int served = 0;
        while (!over) {
            if (round == served) {
                LockSupport.park(this);
                continue;
            }
            served = round;
            takeBands();
            if (busy.decrementAndGet() == 0) {
                LockSupport.unpark(caller);
            }
        }
    }

    @Override
    public void close() {
        over = true;
        for (Thread other : others) {
            LockSupport.unpark(other);
        }
    }
}
