// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import java.util.Arrays;
import java.util.concurrent.BlockingQueue;
import java.util.concurrent.CompletableFuture;
import java.util.concurrent.ExecutionException;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.concurrent.LinkedBlockingQueue;
import java.util.concurrent.Semaphore;
import java.util.concurrent.TimeUnit;
import java.util.concurrent.atomic.AtomicLong;
import java.util.concurrent.atomic.AtomicReference;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.ClipWriter;
import org.evenstop.batch.media.DecodedFrame;
import org.evenstop.batch.media.DecodedFrameTimes;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.LevelMeter;
import org.evenstop.engine.solve.Correction;

/**
 * The three stages of one clip. The calling thread corrects; decoding, encoding and measuring the result have a thread each. Decoding begins at once, while the
 * correction is still being worked out; until this is closed the reader belongs to it, and the writer must be there to take the sound on the way.
 */
final class RenderPipeline implements AutoCloseable {
    /** Frames between the decoder and the encoder, which have queues of their own: enough to ride out an uneven stage, few enough for UHD. */
    private static final int FRAMES = 5;

    private final ClipReader reader;
    private final ClipWriter writer;
    private final ProgressListener progress;
    private final long expected;
    private final long[] picks;
    private final LevelMeter after;
    private final BlockingQueue<Object> decoded = new LinkedBlockingQueue<>();
    private final BlockingQueue<Object> corrected = new LinkedBlockingQueue<>();
    /** The decoder waits for it and nobody else, so that a frame is corrected as soon as it is decoded and may still be near. */
    private final Semaphore room = new Semaphore(FRAMES);
    private final Object end = new Object();
    private final AtomicReference<Throwable> failure = new AtomicReference<>();
    private final AtomicLong decodeNanos = new AtomicLong();
    private final AtomicLong encodeNanos = new AtomicLong();
    /** One thread, so that the meter gets its frames in order. */
    private final ExecutorService measuring = Executors.newSingleThreadExecutor(task -> {
        Thread thread = new Thread(task, "evenstop-measure");
        thread.setDaemon(true);
        return thread;
    });
    private final Thread decoding;
    private volatile boolean isClosing;
    private long correctNanos;

    /** {@code measured} is done when the meter has read the frame; only then may the encoder have it. */
    private record Corrected(ClipWriter.EncodedFrame frame, DecodedFrameTimes times, Future<?> measured) {
    }

    @FunctionalInterface
    private interface Waiting {
        boolean isDone() throws InterruptedException;
    }

    /** @param expected frames, as the file declares */
    RenderPipeline(ClipReader reader, ClipWriter writer, long expected, ProgressListener progress) {
        this.reader = reader;
        this.writer = writer;
        this.expected = expected;
        this.progress = progress;
        picks = ClipReader.picks(ClipMeter.DEFAULT_FRAMES, Math.max(1, expected));
        after = new LevelMeter();
        decoding = stage("evenstop-decode", this::decode);
    }

    /**
     * Corrects and encodes all frames.
     *
     * @param follow null for one correction throughout
     * @throws RuntimeException of the stage that failed first
     */
    void run(FrameCorrector corrector, ClipFollow follow) {
        Thread encoding = stage("evenstop-encode", this::encode);
        try {
            correct(corrector, follow);
        } catch (Throwable failed) {
            failure.compareAndSet(null, failed);
        }
        join(encoding);
        close();
        Throwable failed = failure.get();
        if (failed instanceof RuntimeException exception) {
            throw exception;
        }
        if (failed instanceof Error error) {
            throw error;
        }
    }

    /** Ends what still runs. Reader and writer may be closed then. */
    @Override
    public void close() {
        isClosing = true;
        join(decoding);
        measuring.shutdown();
        awaitMeasuring();
        releaseLeftOver();
    }

    /** Levels of corrected frames, at the places where a clip is measured. */
    LevelMeter after() {
        return after;
    }

    double decodeSeconds() {
        return decodeNanos.get() / 1e9;
    }

    double correctSeconds() {
        return correctNanos / 1e9;
    }

    double encodeSeconds() {
        return encodeNanos.get() / 1e9;
    }

    private Thread stage(String name, Runnable work) {
        Thread thread = new Thread(() -> {
            try {
                work.run();
            } catch (Throwable failed) {
                failure.compareAndSet(null, failed);
            }
        }, name);
        thread.setDaemon(true);
        thread.start();
        return thread;
    }

    private void decode() {
        while (awaitRoom()) {
            long from = System.nanoTime();
            DecodedFrame frame = reader.next();
            decodeNanos.addAndGet(System.nanoTime() - from);
            if (frame == null) {
                decoded.add(end);
                return;
            }
            decoded.add(frame);
        }
    }

    private void correct(FrameCorrector corrector, ClipFollow follow) {
        for (Object next = take(decoded); next instanceof DecodedFrame frame; next = take(decoded)) {
            long from = System.nanoTime();
            DecodedFrameTimes times = DecodedFrameTimes.of(frame);
            boolean isPick = Arrays.binarySearch(picks, frame.index()) >= 0;
            double seconds = frame.seconds();
            Correction own = follow == null ? corrector.clipCorrection() : follow.correctionOf(frame.index());
            ClipWriter.EncodedFrame adopted = corrector.worksInPlace(own) ? writer.adopt(frame) : null;
            ClipWriter.EncodedFrame target = adopted != null ? adopted : writer.lend();
            try {
                corrector.run(frame.picture(), target.picture(), frame.isInterlaced(), own);
            } finally {
                if (adopted == null) {
                    frame.release();
                }
            }
            Future<?> measured = isPick ? measuring.submit(() -> after.add(target.picture(), seconds)) : CompletableFuture.completedFuture(null);
            correctNanos += System.nanoTime() - from;
            corrected.add(new Corrected(target, times, measured));
        }
        corrected.add(end);
    }

    private void encode() {
        for (Object next = take(corrected); next instanceof Corrected frame; next = take(corrected)) {
            waitFor(frame.measured());
            long from = System.nanoTime();
            writer.write(frame.frame(), frame.times());
            encodeNanos.addAndGet(System.nanoTime() - from);
            room.release();
            progress.at("render", writer.framesWritten(), expected);
        }
    }

    private void waitFor(Future<?> measured) {
        try {
            measured.get();
        } catch (InterruptedException interrupted) {
            throw new IllegalStateException("interrupted while rendering", interrupted);
        } catch (ExecutionException failed) {
            throw failed.getCause() instanceof RuntimeException cause ? cause : new IllegalStateException(failed.getCause());
        }
    }

    /** False when another stage has failed meanwhile, or nothing more is wanted. */
    private boolean awaitRoom() {
        try {
            while (failure.get() == null && !isClosing) {
                if (room.tryAcquire(50, TimeUnit.MILLISECONDS)) {
                    return true;
                }
            }
        } catch (InterruptedException interrupted) {
            failure.compareAndSet(null, new IllegalStateException("interrupted while rendering", interrupted));
        }
        return false;
    }

    /** The next item, or null when another stage has failed. */
    private Object take(BlockingQueue<Object> queue) {
        try {
            while (failure.get() == null) {
                Object item = queue.poll(50, TimeUnit.MILLISECONDS);
                if (item != null) {
                    return item;
                }
            }
        } catch (InterruptedException interrupted) {
            failure.compareAndSet(null, new IllegalStateException("interrupted while rendering", interrupted));
        }
        return null;
    }

    private void join(Thread thread) {
        untilDone(() -> {
            thread.join();
            return true;
        });
    }

    /** After a failure a frame may still be read; its memory must not go before. */
    private void awaitMeasuring() {
        untilDone(() -> measuring.awaitTermination(1, TimeUnit.SECONDS));
    }

    /** Waits to the end even where it is interrupted, which is a failure. */
    private void untilDone(Waiting waiting) {
        boolean interrupted = false;
        for (boolean done = false; !done;) {
            try {
                done = waiting.isDone();
            } catch (InterruptedException again) {
                interrupted = true;
                failure.compareAndSet(null, new IllegalStateException("interrupted while rendering", again));
            }
        }
        if (interrupted) {
            Thread.currentThread().interrupt();
        }
    }

    private void releaseLeftOver() {
        for (Object left = decoded.poll(); left != null; left = decoded.poll()) {
            if (left instanceof DecodedFrame frame) {
                frame.release();
            }
        }
    }
}
