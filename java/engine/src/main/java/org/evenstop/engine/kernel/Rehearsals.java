// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.lang.System.Logger;
import java.lang.System.Logger.Level;
import java.util.concurrent.BlockingQueue;
import java.util.concurrent.LinkedBlockingQueue;
import java.util.concurrent.atomic.AtomicIntegerArray;
import java.util.function.BooleanSupplier;
import java.util.function.LongSupplier;
import java.util.function.Supplier;

/**
 * Lets a scalar implementation answer at once and a faster one serve when it is ready: code for wide registers is very slow until
 * the virtual machine has compiled it, half a second after its first use.
 *
 * <p>Work comes in kinds. The faster implementation is loaded, and each kind of work rehearsed, by one background thread, which starts
 * with the first kind that is asked for. One that comes to other results than the scalar one, is slower, or fails does not serve. Since both
 * come to the same results, it does not matter when, or in the middle of what, it begins to.
 *
 * @param <T> what does the work
 */
public final class Rehearsals<T> {
    private static final Logger LOG = System.getLogger("org.evenstop.kernel");
    private static final int UNSEEN = 0;
    private static final int SEEN = 1;
    private static final int WAITING = 2;
    private static final int READY = 3;
    private static final int REFUSED = 4;
    private static final long HEAD_START_MILLIS = 400;
    private static final int LEAST_ROUNDS = 40;
    private static final int MOST_ROUNDS = 4000;
    private static volatile boolean heldBack;

    /** One kind of work, on memory of its own; its text names it in the log. */
    public interface Piece<T> {
        /** Null when the faster implementation may serve, else why not. */
        String play(T faster);
    }

    private final String what;
    private final String thread;
    private final boolean atFirstSight;
    private final Supplier<T> loader;
    private final AtomicIntegerArray states;
    private final BlockingQueue<Asked<T>> queue = new LinkedBlockingQueue<>();
    private boolean started;
    /** Null until it is loaded, for ever where it is refused. */
    private volatile T faster;
    private volatile boolean refused;

    private record Asked<T>(int kind, Piece<T> piece) {
    }

    /**
     * @param what         the implementation, for the log
     * @param thread       name of the background thread
     * @param kinds        how many kinds of work there are
     * @param atFirstSight false where work has to come twice to be rehearsed
     * @param loader       finds it, or null; called once, on the background thread; may throw
     */
    public Rehearsals(String what, String thread, int kinds, boolean atFirstSight, Supplier<T> loader) {
        this.what = what;
        this.thread = thread;
        this.atFirstSight = atFirstSight;
        this.loader = loader;
        states = new AtomicIntegerArray(kinds);
    }

    /** The faster implementation once it is loaded, whether it serves or not; null before. */
    public T loaded() {
        return faster;
    }

    /** The faster implementation where it serves, else null. */
    public T readyFor(int kind) {
        return states.get(kind) == READY ? faster : null;
    }

    /**
     * Lets nothing new be rehearsed in this process, or lets it again: compiling the faster code takes seconds of processor time, which a
     * little work does not pay for.
     */
    public static void holdBack(boolean hold) {
        heldBack = hold;
    }

    /** Whether {@link #ask} would do anything. */
    public boolean isOpen(int kind) {
        return !heldBack && states.get(kind) <= SEEN && !refused;
    }

    /** Tells that work of a kind has come. */
    public void ask(int kind, Piece<T> piece) {
        boolean first = states.compareAndSet(kind, UNSEEN, SEEN);
        if (first && !atFirstSight || !states.compareAndSet(kind, SEEN, WAITING)) {
            return;
        }
        queue.add(new Asked<>(kind, piece));
        synchronized (this) {
            if (started) {
                return;
            }
            started = true;
        }
        Thread background = new Thread(this::rehearse, thread);
        background.setDaemon(true);
        background.setPriority(Thread.MIN_PRIORITY);
        background.start();
    }

    private void rehearse() {
        try {
            // The first frames have the machine to themselves.
            Thread.sleep(HEAD_START_MILLIS);
            faster = loader.get();
            if (faster == null) {
                refused = true;
                return;
            }
            while (true) {
                Asked<T> next = queue.take();
                String fault = next.piece.play(faster);
                states.set(next.kind, fault == null ? READY : REFUSED);
                LOG.log(Level.DEBUG, "{0} for {1}: {2}", what, next.piece, fault == null ? "the faster one" : "scalar, " + fault);
            }
        } catch (InterruptedException stopped) {
            Thread.currentThread().interrupt();
        } catch (RuntimeException | LinkageError | OutOfMemoryError failure) {
            // Kinds handed over already have been seen to work; no more are.
            refused = true;
            LOG.log(Level.INFO, "{0} refused, scalar code serves: {1}", what, failure.toString());
        }
    }

    /** Whether anything was rehearsed; for tests. */
    public synchronized boolean isStarted() {
        return started;
    }

    /** Whether a kind is handed over; for tests. */
    public boolean isReady(int kind) {
        return states.get(kind) == READY;
    }

    /** Whether a kind never will be; for tests. */
    public boolean isRefused(int kind) {
        return refused || states.get(kind) == REFUSED;
    }

    /**
     * Plays the faster side until it is compiled, and the scalar side now and then.
     *
     * @param name   of the faster side
     * @param truth  does the work the scalar way; nanoseconds taken
     * @param faster does it the faster way; nanoseconds taken
     * @param same   whether the two results are the same
     * @return as {@link Piece#play}
     */
    public static String contest(String name, LongSupplier truth, LongSupplier faster, BooleanSupplier same) {
        long truthTime = Long.MAX_VALUE;
        int won = 0;
        for (int round = 0; round < MOST_ROUNDS && won < 5; round++) {
            if (round % 20 == 0) {
                truthTime = Math.min(truthTime, truth.getAsLong());
            }
            boolean quicker = faster.getAsLong() < truthTime;
            won = quicker && round >= LEAST_ROUNDS ? won + 1 : 0;
            if (round == LEAST_ROUNDS && !same.getAsBoolean()) {
                break;
            }
        }
        if (!same.getAsBoolean()) {
            return name + " comes to other values";
        }
        return won > 0 ? null : name + " is slower here";
    }
}
