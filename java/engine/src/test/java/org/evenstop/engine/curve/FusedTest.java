// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.curve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Random;
import org.junit.jupiter.api.Test;

/** Both ways to multiply and add come to the bits of {@link Math#fma}. */
class FusedTest {
    private static void assertSame(float a, float b, float c) {
        int wanted = Float.floatToIntBits(Math.fma(a, b, c));
        String what = a + " * " + b + " + " + c;
        assertEquals(wanted, Float.floatToIntBits(Fused.byDoubles(a, b, c)), what);
        assertEquals(wanted, Float.floatToIntBits(Fused.multiplyAdd(a, b, c)), what);
    }

    @Test
    void levelsAndAnyFloats() {
        Random random = new Random(71);
        for (int i = 0; i < 20_000; i++) {
            assertSame(2 * random.nextFloat() - 1, 4 * random.nextFloat() - 2, 2 * random.nextFloat() - 1);
            assertSame(Float.intBitsToFloat(random.nextInt()), Float.intBitsToFloat(random.nextInt()), Float.intBitsToFloat(random.nextInt()));
        }
    }

    /** Sums that rounding to double first would take for a tie, or across one: a product just beside the middle of two floats. */
    @Test
    void sumsBesideTheMiddleOfTwoFloats() {
        Random random = new Random(72);
        int differs = 0;
        for (int i = 0; i < 20_000; i++) {
            float c = 1 + random.nextInt(1 << 23) * 0x1p-23f;
            // (1 + e)(1 - e) = 1 - e^2: half a step of c but for so little that it is lost beside c in double.
            float beside = (random.nextBoolean() ? 1 : -1) * 0x1p-23f;
            float a = (random.nextBoolean() ? 0x1p-24f : -0x1p-24f) * (1 + beside);
            float b = 1 - beside;
            assertSame(a, b, c);
            assertSame(a, b, -c);
            differs += (float) ((double) a * b + c) != Math.fma(a, b, c) ? 1 : 0;
        }
        assertTrue(differs > 1000, "sums that rounding twice gets wrong must be among these, not " + differs);
    }

    @Test
    void infinitiesZerosAndNaN() {
        float[] odd = {0f, -0f, 1f, -1f, Float.MIN_VALUE, -Float.MIN_VALUE, Float.MAX_VALUE, -Float.MAX_VALUE, Float.POSITIVE_INFINITY, Float.NEGATIVE_INFINITY,
            Float.NaN};
        for (float a : odd) {
            for (float b : odd) {
                for (float c : odd) {
                    assertSame(a, b, c);
                }
            }
        }
    }
}
