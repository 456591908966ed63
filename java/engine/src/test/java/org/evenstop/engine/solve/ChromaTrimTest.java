// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.junit.jupiter.api.Test;

/** Separate trims for dark and bright chroma, subject and exposure given by hand. */
class ChromaTrimTest {
    private static final Profile SOFT = EvenstopFiles.profile("cinema-soft");
    private static final Preset EVEN = EvenstopFiles.preset("even");

    private static Measurement garden() {
        return Bracket.measure(Exposures.invented(2, 180, 120).shoot(SOFT, -1, true, 3), "garden");
    }

    @Test
    void fadesFromOneToTheOtherAboutTheSubject() {
        ChromaTrim trim = new ChromaTrim(0.6, 1.4);
        assertEquals(0.6, trim.factor(0.1, 0.4));
        assertEquals(1.0, trim.factor(0.4, 0.4), 1e-12);
        assertEquals(1.4, trim.factor(0.9, 0.4));
        double last = 0.6;
        for (int i = 0; i <= 1000; i++) {
            double factor = trim.factor(i / 1000.0, 0.4);
            assertTrue(factor >= last && factor - last < 0.004, "at " + i);
            last = factor;
        }
        assertTrue(ChromaTrim.NONE.isNone());
        assertTrue(assertThrows(IllegalArgumentException.class, () -> new ChromaTrim(2.5, 1)).getMessage().contains("darkChroma 2.5"));
    }

    @Test
    void actsOnChromaOutAlone() {
        Correction plain = Solver.solve(garden(), SOFT, EVEN);
        Correction trimmed = Solver.solve(garden(), SOFT, EVEN.withChromaTrim(new ChromaTrim(0.5, 0.8)));
        assertEquals(plain.tone(), trimmed.tone());
        assertEquals(plain.chromaIn(), trimmed.chromaIn());
        double subject = EVEN.subjectLevel() / 100;
        assertEquals(0.5 * plain.chromaOut().at(0.05f), trimmed.chromaOut().at(0.05f), 0.01);
        float bright = (float) Math.min(subject + 0.3, 0.9);
        assertEquals(0.8 * plain.chromaOut().at(bright), trimmed.chromaOut().at(bright), 0.01);
    }

    /** However much is asked for, no more than 0.1 % of the sample may leave the range of EBU R 103 v3.0. */
    @Test
    void raisedChromaIsStillHeldToItsRange() {
        Correction trimmed = Solver.solve(garden(), SOFT, EVEN.withChromaTrim(new ChromaTrim(2, 2)));
        assertTrue(trimmed.origin().notes().stream().anyMatch(n -> n.contains("EBU R 103")), trimmed.origin().notes().toString());
    }

    @Test
    void aPresetKeepsItInItsFile() {
        Preset preset = EVEN.withChromaTrim(new ChromaTrim(0.75, 1.25));
        assertEquals(preset, EvenstopFiles.presetFromJson(EvenstopFiles.toJson(preset), "test"));
        assertEquals(EVEN, EvenstopFiles.presetFromJson(EvenstopFiles.toJson(EVEN), "test"));
        assertTrue(!EvenstopFiles.toJson(EVEN).contains("darkChroma"), "files of presets without it stay as they were");
    }

    @Test
    void exposureGivenByHandIsKept() {
        Preset sky = EVEN.withHighlightLevel(80);
        Correction given = Solver.solveAt(garden(), SOFT, sky, 1.25);
        assertEquals(1.25, given.origin().stops());
        assertTrue(given.origin().after().p99_5() <= 80.5, "highlights lie at " + given.origin().after().p99_5());
        assertThrows(IllegalArgumentException.class, () -> Solver.solveAt(garden(), SOFT, sky, Double.NaN));
    }

    @Test
    void aRaisedSubjectStaysWithinBounds() {
        Preset raised = EVEN.withSubjectRaised(10);
        assertEquals(EVEN.subjectLevel() + 10, raised.subjectLevel());
        assertEquals(EVEN.skinFrom() + 10, raised.skinFrom());
        assertEquals(80, EVEN.withSubjectRaised(100).subjectLevel());
        assertEquals(5, EVEN.withSubjectRaised(-100).subjectLevel());
        assertTrue(EVEN.withSubjectRaised(-100).skinTo() > EVEN.withSubjectRaised(-100).skinFrom());
    }
}
