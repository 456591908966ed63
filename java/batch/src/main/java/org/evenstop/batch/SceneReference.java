// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import org.evenstop.batch.render.ClipRender;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.evenstop.engine.solve.MatchResult;
import org.evenstop.engine.solve.Matcher;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Solver;

/** The clip that others are matched to, with its own correction. */
final class SceneReference {
    private final Path clip;
    private final Measurement measurement;
    private final Correction correction;

    SceneReference(Path clip, Measurement measurement, Profile profile, Preset preset) {
        this.clip = clip;
        this.measurement = measurement;
        correction = Solver.solve(measurement, profile, preset);
    }

    /** True when both paths name one file. */
    static boolean isSame(Path one, Path other) {
        try {
            return Files.isSameFile(one, other);
        } catch (IOException notThere) {
            return one.toAbsolutePath().normalize().equals(other.toAbsolutePath().normalize());
        }
    }

    /** How a clip comes by its correction: the reference by its own, another by being matched to it. */
    Following followedBy(Path follower) {
        return new Following(isSame(follower, clip));
    }

    /** One clip's turn; keeps what the match came to. */
    final class Following implements ClipRender.Solving {
        private final boolean isReference;
        private MatchResult result;

        private Following(boolean isReference) {
            this.isReference = isReference;
        }

        @Override
        public Correction solve(Measurement follower, Profile profile, Preset preset) {
            if (isReference) {
                return leading();
            }
            result = Matcher.match(follower, measurement, correction, profile, preset);
            return result.correction();
        }

        private Correction leading() {
            CorrectionOrigin o = correction.origin();
            List<String> notes = new ArrayList<>(List.of("The clip that the others are matched to."));
            notes.addAll(o.notes());
            return new Correction(correction.chromaIn(), correction.tone(), correction.chromaOut(), correction.standard(),
                new CorrectionOrigin(o.clip(), o.profile(), o.preset(), o.subject(), o.stops(), o.before(), o.after(), notes));
        }

        /** For machines: the reference, and for those that follow it how sure the match is. */
        void describe(ObjectNode node) {
            node.put("reference", clip.toString()).put("isReference", isReference);
            if (result != null) {
                node.put("matched", result.matched()).put("sure", rounded(result.sureness())).put("words", result.word())
                    .put("overlap", rounded(result.overlap()));
            }
        }
    }

    private static double rounded(double share) {
        return Math.round(share * 1000) / 1000.0;
    }
}
