// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Map;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Preset;
import org.junit.jupiter.api.Test;

/** Shipped profiles, presets and examples are what the code makes. */
class ShippedFilesTest {
    /** To regenerate a profile: run this test, then copy what it leaves under target/regenerated/ as its message says. */
    @Test
    void profilesAreThoseOfProfileShapes() {
        Map<String, Profile> shapes = Map.of("cinema-soft", ProfileShapes.cinemaSoft(), "rec709-knee", ProfileShapes.rec709Knee(),
            "srgb-screen", ProfileShapes.srgbScreen());
        assertEquals(shapes.keySet(), java.util.Set.copyOf(EvenstopFiles.profileNames()));
        for (String name : EvenstopFiles.profileNames()) {
            Profile made = shapes.get(name);
            Profile file = EvenstopFiles.profile(name);
            String remedy = Examples.remedy("profiles/" + name + ".json", EvenstopFiles.toJson(made));
            assertEquals(made.name(), file.name(), remedy);
            assertEquals(made.label(), file.label(), remedy);
            assertEquals(made.note(), file.note(), remedy);
            // Libraries of mathematics may differ in a last digit, and so in the last of the six decimals a knot is rounded to.
            assertArrayEquals(made.stops(), file.stops(), 1e-9, remedy);
            assertArrayEquals(made.levels(), file.levels(), 1.1e-6, remedy);
            assertArrayEquals(made.chromaLumas(), file.chromaLumas(), 1e-12, remedy);
            assertArrayEquals(made.chromaFactors(), file.chromaFactors(), 1e-12, remedy);
        }
    }

    @Test
    void presetsHaveTheirOwnNamesAndComeBack() {
        for (String name : EvenstopFiles.presetNames()) {
            Preset preset = EvenstopFiles.preset(name);
            assertEquals(name, preset.name());
            assertTrue(!preset.label().isBlank() && !preset.note().isBlank(), name);
            assertEquals(preset, EvenstopFiles.presetFromJson(EvenstopFiles.toJson(preset), "again"));
        }
        assertEquals("even", EvenstopFiles.presetNames().get(0), "the default comes first");
        assertEquals("cinema-soft", EvenstopFiles.profileNames().get(0), "the default comes first");
        assertTrue(EvenstopFiles.preset("tuck").keepsExposure());
    }

    @Test
    void exampleMeasurementIsThatOfTheInventedPicture() {
        String made = EvenstopFiles.toJson(Examples.measurement(), true);
        assertEquals(made, Examples.shipped("examples/measurement.json"), Examples.remedy("examples/measurement.json", made));
        Measurement read = EvenstopFiles.measurementFromJson(made, "example");
        assertTrue(read.skin().isSubject(), "the path has the colour of skin");
        assertEquals(44 / 108.0, read.horizon().position(), 0.02, "the horizon of the picture");
    }

    @Test
    void exampleCorrectionIsThatOfTheExampleMeasurement() {
        Correction made = Examples.correction();
        String remedy = Examples.remedy("examples/correction.json", EvenstopFiles.toJson(made));
        Correction read = EvenstopFiles.correctionFromJson(Examples.shipped("examples/correction.json"), "example");
        assertEquals(made.origin().stops(), read.origin().stops(), 2e-4, remedy);
        assertEquals(made.origin().notes(), read.origin().notes(), remedy);
        for (Curve[] pair : new Curve[][] {{made.chromaIn(), read.chromaIn()}, {made.tone(), read.tone()}, {made.chromaOut(), read.chromaOut()}}) {
            assertArrayEquals(pair[0].values(), pair[1].values(), 2e-5, remedy);
            assertArrayEquals(pair[0].slopes(), pair[1].slopes(), 2e-3, remedy);
        }
        assertTrue(made.origin().stops() > 0.3, "an underexposed picture is lifted");
    }
}
