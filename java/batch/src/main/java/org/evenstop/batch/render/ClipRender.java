// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.concurrent.ArrayBlockingQueue;
import java.util.concurrent.BlockingQueue;
import java.util.concurrent.CompletableFuture;
import java.util.concurrent.ExecutionException;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.concurrent.TimeUnit;
import java.util.concurrent.atomic.AtomicLong;
import java.util.concurrent.atomic.AtomicReference;
import org.evenstop.batch.media.ClipInfo;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.ClipWriter;
import org.evenstop.batch.media.DecodedFrame;
import org.evenstop.batch.media.DecodedFrameTimes;
import org.evenstop.batch.media.OutputCodec;
import org.evenstop.batch.media.PendingFile;
import org.evenstop.engine.InputException;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.LevelMeter;
import org.evenstop.engine.measure.LevelSummary;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Solver;

/**
 * Renders one clip: measures it, solves one correction, and decodes, corrects and encodes side by side over bounded queues.
 * Output and correction file appear together when all went well, else neither.
 */
public final class ClipRender {
    /** Decoded frames waiting: enough to ride out an uneven stage, few enough for UHD. */
    private static final int DECODED = 4;
    /** Corrected frames waiting. The encoder has a queue of its own, and memory that nobody has written to yet is slow. */
    private static final int CORRECTED = 2;

    private final Settings settings;
    private final ProgressListener progress;
    private final Solving solving;
    private final boolean follows;

    /** Works out the correction of a measured clip. */
    @FunctionalInterface
    public interface Solving {
        Correction solve(Measurement clip, Profile profile, Preset preset);
    }

    /**
     * @param strength 0..1
     * @param threads  of the correction; decoder and encoder have their own
     */
    public record Settings(OutputCodec codec, Profile profile, Preset preset, float strength, boolean overwrite, int threads) {
        public Settings {
            if (!(strength >= 0 && strength <= 1)) {
                throw new InputException("--strength " + strength + " is outside 0..1; give 0 for no change, 1 for the whole correction");
            }
        }
    }

    /** The same settings with another profile. */
    public ClipRender with(Profile profile) {
        return new ClipRender(new Settings(settings.codec(), profile, settings.preset(), settings.strength(), settings.overwrite(),
            settings.threads()), progress, solving, follows);
    }

    /** The same settings with another way to come by the correction than {@link Solver#solve}. */
    public ClipRender with(Solving other) {
        return new ClipRender(settings, progress, other, follows);
    }

    /**
     * The same settings, with light that drifts within a clip followed: all frames are looked at before the first is corrected.
     *
     * @throws InputException when the preset leaves exposure alone or the strength is 0
     */
    public ClipRender following() {
        if (settings.preset().keepsExposure()) {
            throw new InputException("--follow changes the exposure of frames, and preset " + settings.preset().name()
                + " leaves exposure alone (largestLift and largestPull are 0); take another preset, or leave --follow out");
        }
        if (settings.strength() == 0) {
            throw new InputException("--follow with --strength 0 would change nothing; give a strength above 0, or leave --follow out");
        }
        return new ClipRender(settings, progress, solving, true);
    }

    /**
     * A clip that was measured before its turn to be rendered, and told to {@link FasterCode} then.
     *
     * @param seconds that took; counted as if it had been done in its turn
     */
    public record MeasuredAhead(ClipMeasure measure, double seconds) {
    }

    /** Seconds each stage was busy; they overlap, so {@code total} is less than their sum. */
    public record StageTimes(double measure, double decode, double correct, double encode, double total) {
    }

    /**
     * @param after  levels measured on corrected frames, at the places where {@code before} was measured
     * @param follow how light that drifts was followed; null when that was not asked for
     * @param notes  one sentence each
     */
    public record Result(Path clip, Path output, Path correctionFile, Measurement before, LevelSummary after, Correction correction,
                         ClipFollow follow, long frames, StageTimes times, List<String> notes) {
        public Result {
            notes = List.copyOf(notes);
        }
    }

    public ClipRender(Settings settings, ProgressListener progress) {
        this(settings, progress, Solver::solve, false);
    }

    private ClipRender(Settings settings, ProgressListener progress, Solving solving, boolean follows) {
        this.settings = settings;
        this.progress = progress;
        this.solving = solving;
        this.follows = follows;
    }

    /** {@code measured} is done when the meter has read the frame; only then may the encoder have it. */
    private record Corrected(ClipWriter.EncodedFrame frame, DecodedFrameTimes times, Future<?> measured) {
    }

    /** @throws InputException when the clip cannot be read or the output not be written; then nothing is left in the folder */
    public Result run(Path clip, Path output, Path correctionFile) {
        return run(clip, output, correctionFile, null);
    }

    /**
     * As {@link #run(Path, Path, Path)} for a clip that may have been measured before.
     *
     * @param ahead what was found in this clip before, or null to measure it now
     */
    public Result run(Path clip, Path output, Path correctionFile, MeasuredAhead ahead) {
        long started = System.nanoTime() - (ahead == null ? 0 : Math.round(1e9 * ahead.seconds()));
        try (PendingFile correctionPending = new PendingFile(correctionFile, settings.overwrite()); ClipReader reader = ClipReader.open(clip)) {
            if (!settings.overwrite() && Files.exists(output)) {
                throw new InputException(output + ": is already there; add --overwrite to replace it, or give another folder with --out");
            }
            refuseForeignTransfer(clip, reader.info().colour());
            if (ahead == null) {
                FasterCode.expect(reader.info());
            }
            ClipMeasure measured = ahead != null ? ahead.measure() : ClipMeasure.of(reader, progress);
            refuseIfGrave(clip, measured.damage());
            ClipFollow follow = follows ? ClipFollow.of(reader, measured.measurement(), settings.profile(), settings.preset(), solving,
                settings.strength(), progress) : null;
            Correction correction = follow != null ? follow.clipCorrection()
                : solving.solve(measured.measurement(), settings.profile(), settings.preset());
            double measureSeconds = (System.nanoTime() - started) / 1e9;
            try {
                Files.writeString(correctionPending.path(), EvenstopFiles.toJson(correction), StandardCharsets.UTF_8);
            } catch (IOException failed) {
                throw new InputException(correctionFile + ": could not be written (" + InputException.reason(failed)
                    + "); make room or give another folder with --out", failed);
            }
            List<String> notes = new ArrayList<>(measured.measurement().notes());
            correction.origin().notes().stream().filter(note -> !notes.contains(note)).forEach(notes::add);
            try (ClipWriter writer = ClipWriter.create(output, settings.codec(), reader, settings.overwrite());
                 FrameCorrector corrector = new FrameCorrector(reader.info().shape(), settings.codec(), correction, settings.strength(),
                     settings.threads())) {
                Pipeline pipeline = new Pipeline(reader, writer, corrector, measured, follow);
                pipeline.run();
                ClipReader.Damage damage = reader.damage();
                refuseIfGrave(clip, damage);
                notes.remove(measured.damageNote());
                if (!damage.isNone()) {
                    notes.add("The clip has " + damage.sentence() + "; look at the result there.");
                }
                LevelSummary after = pipeline.after.frames() == 0 ? null : pipeline.after.finish(clip.toString());
                long finishing = System.nanoTime();
                writer.finish();
                pipeline.encodeNanos.addAndGet(System.nanoTime() - finishing);
                correctionPending.commit();
                writer.notes().forEach(note -> notes.add(Character.toUpperCase(note.charAt(0)) + note.substring(1) + "."));
                noteShape(reader, notes);
                return new Result(clip, output, correctionFile, measured.measurement(), after, correction, follow, writer.framesWritten(),
                    new StageTimes(measureSeconds, pipeline.decodeNanos.get() / 1e9, pipeline.correctNanos / 1e9,
                        pipeline.encodeNanos.get() / 1e9, (System.nanoTime() - started) / 1e9), notes);
            }
        }
    }

    private static void refuseForeignTransfer(Path clip, ClipInfo.ColourTags colour) {
        if (!colour.foreignTransfer().isEmpty()) {
            throw new InputException(clip + ": transfer is tagged " + colour.foreignTransfer() + ", which a correction made for standard-range"
                + " pictures would spoil; BT.601, BT.709, BT.2020 and untagged clips are allowed: convert the clip to BT.709 first, or"
                + " mend the tag if it is wrong");
        }
    }

    private static void refuseIfGrave(Path clip, ClipReader.Damage damage) {
        if (damage.isGrave()) {
            throw new InputException(clip + ": " + damage.sentence() + "; nothing was rendered, since the result would look whole:"
                + " copy the clip again from its card, or cut out the good part first");
        }
    }

    private void noteShape(ClipReader reader, List<String> notes) {
        OutputCodec codec = settings.codec();
        var source = reader.info().shape();
        var encoded = codec.encodedShape(source);
        if (source.sampling().shiftX() + source.sampling().shiftY() < encoded.sampling().shiftX() + encoded.sampling().shiftY()) {
            notes.add("Chroma is reduced from 4:4:4 to 4:2:2; --codec prores4444 or ffv1 keeps it.");
        }
        if (source.fullRange() && !encoded.fullRange()) {
            notes.add("Full range became narrow range (0..100 % on codes 64..940); --codec ffv1 keeps it.");
        }
        if (source.depth().bits() > encoded.depth().bits()) {
            notes.add("Rounded from " + source.depth().bits() + " to " + encoded.depth().bits() + " bit after the correction; --codec ffv1 keeps the depth.");
        }
    }

    /** The three stages of one clip. The calling thread corrects; decoding, encoding and measuring the result have a thread each. */
    private final class Pipeline {
        private final ClipReader reader;
        private final ClipWriter writer;
        private final FrameCorrector corrector;
        private final ClipFollow follow;
        private final long expected;
        private final long[] picks;
        private final LevelMeter after;
        private final BlockingQueue<Object> decoded = new ArrayBlockingQueue<>(DECODED);
        private final BlockingQueue<Object> corrected = new ArrayBlockingQueue<>(CORRECTED);
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
        private long correctNanos;

        Pipeline(ClipReader reader, ClipWriter writer, FrameCorrector corrector, ClipMeasure measured, ClipFollow follow) {
            this.reader = reader;
            this.writer = writer;
            this.corrector = corrector;
            this.follow = follow;
            expected = measured.damage().framesDeclared();
            picks = ClipReader.picks(ClipMeter.DEFAULT_FRAMES, Math.max(1, expected));
            after = new LevelMeter();
        }

        void run() {
            Thread decoding = stage("evenstop-decode", this::decode);
            Thread encoding = stage("evenstop-encode", this::encode);
            try {
                correct();
            } catch (Throwable failed) {
                failure.compareAndSet(null, failed);
            }
            join(decoding);
            join(encoding);
            measuring.shutdown();
            awaitMeasuring();
            releaseLeftOver();
            Throwable failed = failure.get();
            if (failed instanceof RuntimeException exception) {
                throw exception;
            }
            if (failed instanceof Error error) {
                throw error;
            }
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
            while (failure.get() == null) {
                long from = System.nanoTime();
                DecodedFrame frame = reader.next();
                decodeNanos.addAndGet(System.nanoTime() - from);
                if (frame == null) {
                    put(decoded, end);
                    return;
                }
                if (!put(decoded, frame)) {
                    frame.release();
                }
            }
        }

        private void correct() {
            for (Object next = take(decoded); next instanceof DecodedFrame frame; next = take(decoded)) {
                long from = System.nanoTime();
                DecodedFrameTimes times = DecodedFrameTimes.of(frame);
                boolean isPick = Arrays.binarySearch(picks, frame.index()) >= 0;
                double seconds = frame.seconds();
                ClipWriter.EncodedFrame target = writer.lend();
                try {
                    if (follow == null) {
                        corrector.run(frame.picture(), target.picture(), frame.isInterlaced());
                    } else {
                        corrector.run(frame.picture(), target.picture(), frame.isInterlaced(), follow.correctionOf(frame.index()));
                    }
                } finally {
                    frame.release();
                }
                Future<?> measured = isPick ? measuring.submit(() -> after.add(target.picture(), seconds)) : CompletableFuture.completedFuture(null);
                correctNanos += System.nanoTime() - from;
                if (!put(corrected, new Corrected(target, times, measured))) {
                    return;
                }
            }
            put(corrected, end);
        }

        private void encode() {
            for (Object next = take(corrected); next instanceof Corrected frame; next = take(corrected)) {
                waitFor(frame.measured());
                long from = System.nanoTime();
                writer.write(frame.frame(), frame.times());
                encodeNanos.addAndGet(System.nanoTime() - from);
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

        /** False when another stage has failed meanwhile. */
        private boolean put(BlockingQueue<Object> queue, Object item) {
            try {
                while (failure.get() == null) {
                    if (queue.offer(item, 50, TimeUnit.MILLISECONDS)) {
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
            boolean interrupted = false;
            while (true) {
                try {
                    thread.join();
                    break;
                } catch (InterruptedException again) {
                    interrupted = true;
                    failure.compareAndSet(null, new IllegalStateException("interrupted while rendering", again));
                }
            }
            if (interrupted) {
                Thread.currentThread().interrupt();
            }
        }

        /** After a failure a frame may still be read; its memory must not go before. */
        private void awaitMeasuring() {
            try {
                while (!measuring.awaitTermination(1, TimeUnit.SECONDS)) {
                    continue;
                }
            } catch (InterruptedException interrupted) {
                failure.compareAndSet(null, new IllegalStateException("interrupted while rendering", interrupted));
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
}
