// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.DecodedFrame;
import org.evenstop.engine.follow.FlickerMeter;
import org.evenstop.engine.follow.FlickerTrim;
import org.evenstop.engine.follow.FollowLimits;
import org.evenstop.engine.follow.FollowedCorrection;
import org.evenstop.engine.follow.LightMeter;
import org.evenstop.engine.follow.LightShot;
import org.evenstop.engine.follow.LightTrack;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.LevelSummary;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.evenstop.engine.solve.Preset;

/** How the light of one clip drifts, and the correction of each of its frames. One thread at a time. */
public final class ClipFollow {
    /** A flicker that is made smaller by less, as a level, is not told of (own choice, no source). */
    private static final double WORTH_A_NOTE = 0.0001;

    private final LightTrack track;
    private final FollowLimits limits;
    private final double heldBack;
    private final FlickerTrim trim;
    private final FollowedCorrection corrections;

    private ClipFollow(LightTrack track, FollowLimits limits, FlickerTrim trim, Correction solved, LevelSummary before, Profile profile) {
        this.track = track;
        this.trim = trim;
        this.limits = limits;
        double most = 0;
        for (LightShot shot : track.shots()) {
            if (shot.isFollowed()) {
                most = Math.max(most, Math.max(-shot.lowest() - limits.mostLift(), shot.highest() - limits.mostPull()));
            }
        }
        heldBack = most;
        corrections = new FollowedCorrection(withNotes(solved, before), profile);
    }

    /**
     * Looks at every frame of a clip, in a reading of its own. Where its light drifts, the clip's correction is solved anew on the
     * frames that were measured, each brought to its shot's usual light: what is placed are the levels of the picture that comes
     * out, not of one that is bright and dark by turns. Where it is steady, what flickers is kept from being made larger.
     *
     * @param reader   of the clip; its place is not moved
     * @param measured the clip's measurement
     * @param solving  how the clip comes by its one correction
     * @param strength 0..1, with which corrections will be applied
     * @throws org.evenstop.engine.InputException when the clip cannot be read
     */
    static ClipFollow of(ClipReader reader, Measurement measured, Profile profile, Preset preset, ClipRender.Solving solving,
                         double strength, ProgressListener progress) {
        Correction solved = solving.solve(measured, profile, preset);
        FlickerMeter flicker = new FlickerMeter(new FollowedCorrection(solved, profile), strength);
        LightTrack track = track(reader, measured, profile, flicker, progress);
        FollowLimits limits = FollowLimits.of(measured, solved, profile, preset);
        if (!track.isSteady()) {
            solved = solving.solve(levelled(reader, measured, track, limits, profile), profile, preset);
            limits = FollowLimits.of(measured, solved, profile, preset);
        }
        FlickerTrim trim = track.isSteady() ? flicker.finish(track) : FlickerTrim.none();
        return new ClipFollow(track, limits, trim, solved, measured.levels(), profile);
    }

    private static LightTrack track(ClipReader reader, Measurement measured, Profile profile, FlickerMeter flicker, ProgressListener progress) {
        LightMeter meter = new LightMeter(profile, measured.ceiling() / 100);
        long expected = reader.info().framesKnown() ? reader.info().frames() : 0;
        progress.at("follow", 0, expected);
        try (ClipReader own = ClipReader.open(reader.info().path())) {
            for (DecodedFrame frame = own.next(); frame != null; frame = own.next()) {
                try {
                    meter.add(frame.picture(), frame.seconds());
                    flicker.add(frame.picture());
                } finally {
                    frame.release();
                }
                progress.at("follow", meter.frames(), expected);
            }
        }
        return meter.finish();
    }

    /** The clip as it would have measured had its light not drifted. Noise, ceiling and notes are those of the frames as they are. */
    private static Measurement levelled(ClipReader reader, Measurement measured, LightTrack track, FollowLimits limits, Profile profile) {
        LumaStandard standard = reader.info().shape().standard();
        FollowedCorrection toUsual = new FollowedCorrection(Correction.identity(standard), profile);
        CorrectionKernel kernel = Kernels.chosen();
        ClipMeter meter = new ClipMeter(standard);
        reader.sample(ClipMeter.DEFAULT_FRAMES, frame -> {
            PlanarFrame usual = frame.picture().allocateLike();
            kernel.apply(frame.picture(), usual, 0, usual.height(), toUsual.at(limits.held(track.stopsAt(frame.index()))), 1f);
            meter.add(usual, frame.seconds());
        });
        Measurement m = meter.finish(measured.clip());
        return new Measurement(m.clip(), m.frames(), m.levels(), m.red(), m.green(), m.blue(), m.clippedHigh(), m.clippedLow(), measured.ceiling(),
            m.skin(), m.subject(), measured.noise(), measured.noiseTiles(), measured.detail(), m.chroma(), m.area(), m.horizon(), m.sample(), measured.notes());
    }

    private Correction withNotes(Correction c, LevelSummary before) {
        CorrectionOrigin o = c.origin();
        List<String> notes = new ArrayList<>(notes());
        notes.addAll(o.notes());
        return new Correction(c.chromaIn(), c.tone(), c.chromaOut(), c.standard(),
            new CorrectionOrigin(o.clip(), o.profile(), o.preset(), o.subject(), o.stops(), before, o.after(), notes));
    }

    private List<String> notes() {
        List<String> notes = new ArrayList<>();
        if (track.unsureShots() > 0) {
            notes.add(track.shots().size() == 1 ? "So much moves in the clip that its light can not be told: it was not followed."
                : "In " + track.unsureShots() + " of " + track.shots().size() + " shots so much moves that their light can not be told: they were not followed.");
            if (track.unsureShots() == track.shots().size()) {
                return notes;
            }
        }
        if (track.isSteady()) {
            notes.add(track.shots().isEmpty() ? "There is no picture whose light could be followed."
                : String.format(Locale.ROOT, "The light is steady (within %.2f stops%s): there was nothing to follow.", track.range(), inShots()));
            if (trim.changeUntrimmed() - trim.changeTrimmed() >= WORTH_A_NOTE) {
                notes.add(String.format(Locale.ROOT, "From frame to frame mean luma changes by %.3f %% as shot; the correction alone would make that %.3f %%, "
                    + "and trims of less than a 10-bit code a frame keep it at %.3f %%.", 100 * trim.changeAsShot(), 100 * trim.changeUntrimmed(),
                    100 * trim.changeTrimmed()));
            }
            return notes;
        }
        long keys = track.shots().stream().mapToLong(shot -> shot.keys().size()).sum();
        double lowest = track.shots().stream().filter(LightShot::isFollowed).mapToDouble(LightShot::lowest).min().orElse(0);
        double highest = track.shots().stream().filter(LightShot::isFollowed).mapToDouble(LightShot::highest).max().orElse(0);
        notes.add(String.format(Locale.ROOT, "The light drifts by %.2f stops (%.2f to +%.2f%s) and was followed, with %d keys. The correction in the file is for the usual "
            + "light of each shot: used by itself it does not follow.", track.range(), lowest, highest, inShots(), keys));
        if (heldBack > 0.02) {
            notes.add(String.format(Locale.ROOT, "Up to %.2f stops of the drift stay: the preset's largest lift (here %.2f stops are left for a frame), largest pull "
                + "(%.2f) or limit on noise allows no more.", heldBack, limits.mostLift(), limits.mostPull()));
        }
        if (track.framesNotJudged() > 0) {
            notes.add(track.framesNotJudged() + " frames are blank, fade, or lie between cuts too close to judge; they go with the frames beside them.");
        }
        return notes;
    }

    private String inShots() {
        return track.cuts() == 0 ? "" : " within a shot, " + (track.cuts() + 1) + " shots";
    }

    /** The clip's correction, for the usual light of each shot; its notes say what was found. */
    public Correction clipCorrection() {
        return corrections.base();
    }

    /** @param frame index in the clip */
    public Correction correctionOf(long frame) {
        return corrections.at(limits.held(track.stopsAt(frame)) + trim.stopsAt(frame));
    }

    public LightTrack track() {
        return track;
    }

    /** What keeps the flicker of a steady clip as it was shot; no trim where a shot is followed. */
    public FlickerTrim trim() {
        return trim;
    }

    public FollowLimits limits() {
        return limits;
    }

    /** The largest part of the drift that a limit leaves in, in stops. */
    public double heldBack() {
        return heldBack;
    }
}
