// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Random;
import org.junit.jupiter.api.Test;

/** Half floats against their definition in IEEE 754-2008 (binary16), all of them. */
class HalfFloatTest {
    /** Value of a half by the definition: sign, 5 bits of exponent with bias 15, 10 bits of fraction. */
    private static double defined(int half) {
        double sign = (half & 0x8000) == 0 ? 1 : -1;
        int exponent = half >> 10 & 31;
        int fraction = half & 1023;
        if (exponent == 31) {
            return fraction == 0 ? sign * Double.POSITIVE_INFINITY : Double.NaN;
        }
        return sign * (exponent == 0 ? fraction * Math.pow(2, -24) : (1024 + fraction) * Math.pow(2, exponent - 25));
    }

    @Test
    void everyHalfHasItsValueAndComesBack() {
        for (int half = 0; half < 65_536; half++) {
            float value = HalfFloat.toFloat((short) half);
            double wanted = defined(half);
            if (Double.isNaN(wanted)) {
                assertTrue(Float.isNaN(value));
                int again = HalfFloat.ofFloat(value) & 0xffff;
                assertTrue(Double.isNaN(defined(again)), "NaN stays NaN");
                assertEquals(half & 0x8000, again & 0x8000, "with its sign");
                assertEquals(half | 0x200, again, "and its payload, made quiet");
                continue;
            }
            assertEquals(wanted, value, 0);
            assertEquals(1 / wanted > 0, 1 / value > 0, "sign of zero");
            assertEquals((short) half, HalfFloat.ofFloat(value));
        }
    }

    /** Between every two neighbours: below the middle goes down, above it up, the middle itself to the even one. */
    @Test
    void roundsHalfToEvenBetweenEveryTwoNeighbours() {
        for (int half = 0; half < 0x7bff; half++) {
            float low = HalfFloat.toFloat((short) half);
            float high = HalfFloat.toFloat((short) (half + 1));
            // The middle of two neighbouring halves is exact in a float.
            float middle = (float) (0.5 * ((double) low + high));
            int even = (half & 1) == 0 ? half : half + 1;
            for (int sign = 0; sign <= 0x8000; sign += 0x8000) {
                float s = sign == 0 ? 1 : -1;
                assertEquals((short) (sign | half), HalfFloat.ofFloat(s * Math.nextDown(middle)));
                assertEquals((short) (sign | even), HalfFloat.ofFloat(s * middle));
                assertEquals((short) (sign | half + 1), HalfFloat.ofFloat(s * Math.nextUp(middle)));
            }
        }
        assertEquals((short) 0x7bff, HalfFloat.ofFloat(65_519.996f), "largest that rounds to 65504");
        assertEquals((short) 0x7c00, HalfFloat.ofFloat(65_520f), "smallest that rounds to infinity");
        assertEquals((short) 0xfc00, HalfFloat.ofFloat(-1e30f));
        assertEquals((short) 0x7c00, HalfFloat.ofFloat(Float.POSITIVE_INFINITY));
        assertEquals((short) 0x8000, HalfFloat.ofFloat(-0f));
        assertEquals((short) 0, HalfFloat.ofFloat(Float.MIN_VALUE));
    }

    /** Random floats land on a nearest half. */
    @Test
    void anyFloatLandsOnANearestHalf() {
        Random random = new Random(7);
        for (int i = 0; i < 500_000; i++) {
            float value = Float.intBitsToFloat(random.nextInt());
            if (Float.isNaN(value) || Math.abs(value) >= 65_520) {
                continue;
            }
            int half = HalfFloat.ofFloat(value) & 0xffff;
            double error = Math.abs(defined(half) - value);
            int magnitude = half & 0x7fff;
            double below = magnitude == 0 ? Double.POSITIVE_INFINITY : Math.abs(defined(half - 1) - value);
            double above = magnitude == 0x7bff ? Double.POSITIVE_INFINITY : Math.abs(defined(half + 1) - value);
            assertTrue(error <= below && error <= above);
        }
    }
}
