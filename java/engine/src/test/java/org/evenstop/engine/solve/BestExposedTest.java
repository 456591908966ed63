// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Random;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.junit.jupiter.api.Test;

/** Which clip of a group leads. */
class BestExposedTest {
    private static final Preset EVEN = EvenstopFiles.preset("even");
    private static final Profile SOFT = ProfileShapes.cinemaSoft();

    private static List<Measurement> bracket(double... stops) {
        Bracket scene = Exposures.invented(0, 160, 100);
        List<Measurement> clips = new ArrayList<>();
        for (double s : stops) {
            clips.add(Bracket.measure(scene.shoot(SOFT, s, true, 3), "clip" + s));
        }
        return clips;
    }

    @Test
    void theClipNearestToRightLeadsInAnyOrder() {
        List<Measurement> clips = bracket(-2, -1, 0, 1, 2, 4);
        String best = "";
        for (int i = 0; i < 6; i++) {
            Collections.shuffle(clips, new Random(i));
            BestExposed found = BestExposed.of(clips, SOFT, EVEN);
            String name = clips.get(found.index()).clip();
            assertEquals(i == 0 ? name : best, name);
            best = name;
            assertTrue(Math.abs(found.stops()) <= 0.6, found.toString());
            assertTrue(found.reason(clips.get(found.index())).matches("it asks for [+-]\\d\\.\\d stops, has \\d+\\.\\d % clipped and .*% noise"),
                found.reason(clips.get(found.index())));
        }
    }

    @Test
    void limitsOfThePresetDoNotMakeAHopelessClipLookRight() {
        List<Measurement> clips = bracket(-2, 1);
        assertEquals(1, BestExposed.of(clips, SOFT, EVEN.withLargestLift(0)).index());
    }

    @Test
    void equalsAreDecidedByName() {
        Measurement one = bracket(0).get(0);
        Measurement b = renamed(one, "b");
        Measurement a = renamed(one, "a");
        assertEquals(1, BestExposed.of(List.of(b, a), SOFT, EVEN).index());
        assertEquals(0, BestExposed.of(List.of(a, b), SOFT, EVEN).index());
    }

    private static Measurement renamed(Measurement m, String name) {
        return new Measurement(name, m.frames(), m.levels(), m.red(), m.green(), m.blue(), m.clippedHigh(), m.clippedLow(), m.ceiling(),
            m.skin(), m.subject(), m.noise(), m.noiseTiles(), m.detail(), m.chroma(), m.area(), m.horizon(), m.sample(), m.notes());
    }

    @Test
    void anEmptyGroupIsRefused() {
        assertThrows(IllegalArgumentException.class, () -> BestExposed.of(List.of(), SOFT, EVEN));
    }
}
