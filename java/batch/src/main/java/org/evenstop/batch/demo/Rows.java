// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.atomic.AtomicInteger;
import java.util.concurrent.atomic.AtomicReference;
import java.util.function.IntConsumer;
import java.util.function.Supplier;

/** Spreads the rows of a picture over threads. A row's result must depend on the row alone, so the picture is the same for any number. */
final class Rows {
    private Rows() {
    }

    /**
     * Runs every row once. {@code worker} is asked once per thread for a row function, which may keep scratch of its own.
     *
     * @throws IllegalStateException with the cause when a row failed or the wait was interrupted
     */
    static void forEach(int rows, int threads, Supplier<IntConsumer> worker) {
        AtomicInteger next = new AtomicInteger();
        AtomicReference<Throwable> failure = new AtomicReference<>();
        Runnable work = () -> {
            try {
                IntConsumer row = worker.get();
                for (int y = next.getAndIncrement(); y < rows && failure.get() == null; y = next.getAndIncrement()) {
                    row.accept(y);
                }
            } catch (RuntimeException | Error e) {
                failure.compareAndSet(null, e);
            }
        };
        List<Thread> others = new ArrayList<>();
        for (int i = 1; i < threads; i++) {
            Thread thread = new Thread(work, "demo-rows-" + i);
            thread.setDaemon(true);
            thread.start();
            others.add(thread);
        }
        work.run();
        for (Thread thread : others) {
            try {
                thread.join();
            } catch (InterruptedException e) {
                failure.compareAndSet(null, e);
                Thread.currentThread().interrupt();
            }
        }
        if (failure.get() != null) {
            throw new IllegalStateException("drawing the demo stopped: " + failure.get(), failure.get());
        }
    }
}
