// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Preset;

/** Brings a clip to where a reference clip of the same scene lands. */
@FunctionalInterface
public interface Matching {
    /**
     * @param reference           measurement of the reference clip
     * @param referenceCorrection what the reference itself gets
     * @param profile             assumed for both, not that of the camera
     */
    Correction match(Measurement clip, Measurement reference, Correction referenceCorrection, Profile profile, Preset preset);
}
