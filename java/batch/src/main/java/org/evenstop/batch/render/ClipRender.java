// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import org.evenstop.batch.media.ClipInfo;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.ClipWriter;
import org.evenstop.batch.media.OutputCodec;
import org.evenstop.batch.media.PendingFile;
import org.evenstop.engine.InputException;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.measure.LevelSummary;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Solver;

/**
 * Renders one clip: measures it, solves one correction while the first frames are decoded, and decodes, corrects and encodes side by side over bounded queues.
 * Output and correction file appear together when all went well, else neither.
 */
public final class ClipRender {
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
            try (ClipWriter writer = ClipWriter.create(output, settings.codec(), reader, settings.overwrite());
                 RenderPipeline pipeline = new RenderPipeline(reader, writer, measured.damage().framesDeclared(), progress)) {
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
                try (FrameCorrector corrector = new FrameCorrector(reader.info().shape(), settings.codec(), correction, settings.strength(),
                         settings.threads())) {
                    pipeline.run(corrector, follow);
                }
                ClipReader.Damage damage = reader.damage();
                refuseIfGrave(clip, damage);
                notes.remove(measured.damageNote());
                if (!damage.isNone()) {
                    notes.add("The clip has " + damage.sentence() + "; look at the result there.");
                }
                LevelSummary after = pipeline.after().frames() == 0 ? null : pipeline.after().finish(clip.toString());
                long finishing = System.nanoTime();
                writer.finish();
                double finishSeconds = (System.nanoTime() - finishing) / 1e9;
                correctionPending.commit();
                writer.notes().forEach(note -> notes.add(Character.toUpperCase(note.charAt(0)) + note.substring(1) + "."));
                noteShape(reader, notes);
                return new Result(clip, output, correctionFile, measured.measurement(), after, correction, follow, writer.framesWritten(),
                    new StageTimes(measureSeconds, pipeline.decodeSeconds(), pipeline.correctSeconds(), pipeline.encodeSeconds() + finishSeconds,
                        (System.nanoTime() - started) / 1e9), notes);
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
}
