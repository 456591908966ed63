// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.junit.jupiter.api.Test;

/** The solver's table against the profile it stands for. */
class LightTableTest {
    @Test
    void tableAgreesWithTheProfileAndUndoesItself() {
        for (Profile profile : List.of(ProfileShapes.cinemaSoft(), ProfileShapes.rec709Knee(), ProfileShapes.srgbScreen())) {
            LightTable table = new LightTable(profile);
            double last = Double.NEGATIVE_INFINITY;
            for (int i = 0; i <= 20_000; i++) {
                double level = -0.07 + 1.17 * i / 20_000;
                double light = table.lightOf(level);
                assertTrue(light > last, profile.name() + " at " + level);
                last = light;
                assertEquals(level, table.levelOf(light), 1e-9, profile.name());
                // A hundredth of a 10-bit code.
                assertEquals(profile.solvedLevel(light), table.levelOf(light), 1e-5, profile.name() + " at " + level);
            }
        }
    }
}
