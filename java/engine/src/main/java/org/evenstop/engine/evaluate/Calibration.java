// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

import java.util.List;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.profile.Profile;

/** Recovers a profile from a bracket. */
@FunctionalInterface
public interface Calibration {
    /**
     * @param frames one per exposure, of one size
     * @param stops  exposure of each
     * @throws org.evenstop.engine.InputException when no profile can be told from them
     */
    Profile recover(List<PlanarFrame> frames, double[] stops);
}
