// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.util.List;
import org.evenstop.engine.measure.LevelSummary;

/**
 * Where a correction came from, for people and for the record. Rendering does not depend on it.
 *
 * @param clip    file or clip name; empty when unknown
 * @param profile name of the profile it was solved through
 * @param preset  name of the preset that was wanted
 * @param subject the subject that was aimed at: auto, face, landscape or lowLight
 * @param stops   exposure applied, in stops of scene light; positive is a lift
 * @param before  levels of the clip as measured; null when nothing was measured
 * @param after   levels predicted on the kept sample; null likewise
 * @param notes   one sentence each: what was held back and why, what is clipped for good
 */
public record CorrectionOrigin(String clip, String profile, String preset, String subject, double stops,
                               LevelSummary before, LevelSummary after, List<String> notes) {

    public CorrectionOrigin {
        notes = List.copyOf(notes);
    }

    public static CorrectionOrigin none() {
        return new CorrectionOrigin("", "", "", "auto", 0, null, null, List.of());
    }
}
