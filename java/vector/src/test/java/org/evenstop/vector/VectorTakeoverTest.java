// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Random;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.Timeout;

/** The vector kernel is found by its service, and while it takes over no frame differs by a bit. */
@Timeout(300)
class VectorTakeoverTest {
    private static final Correction CORRECTION = new Correction(Curve.fitFlatEnded(y -> 1 + 0.3 * y, 0.002),
        Curve.fit(x -> Math.pow(Math.max(x, 0), 0.8), 0.002), Curve.fitFlatEnded(y -> 1.2 - 0.4 * y, 0.002), LumaStandard.BT709,
        CorrectionOrigin.none());

    @Test
    void framesAreTheSameBeforeDuringAndAfter() {
        CorrectionKernel chosen = Kernels.choose("auto");
        Random random = new Random(5);
        PackedFrame source = PackedFrame.allocate(1000, 20, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        for (int i = 0; i < source.memory().capacity(); i += 4) {
            source.memory().putFloat(i, random.nextFloat() * 1.2f - 0.1f);
        }
        PackedFrame expected = PackedFrame.allocate(1000, 20, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        new ScalarKernel().apply(source, expected, 0, 20, CORRECTION, 1f);
        // Enough frames for a takeover to fall somewhere among them; where registers are narrow it never does, and that is right too.
        for (int frame = 0; frame < 4000; frame++) {
            PackedFrame got = PackedFrame.allocate(1000, 20, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
            chosen.apply(source, got, 0, 20, CORRECTION, 1f);
            assertEquals(-1, expected.memory().mismatch(got.memory()), "frame " + frame);
        }
    }

    @Test
    void theServiceIsFoundByName() {
        if (!Lanes.refusal().isEmpty()) {
            assertThrows(UnsupportedOperationException.class, VectorKernel::new);
            assertEquals("scalar", Kernels.choose("vector").name());
        } else {
            assertEquals("vector", Kernels.choose("vector").name());
            assertTrue(Kernels.choose("vector").description().contains(Lanes.COUNT + " lanes"));
        }
    }
}
