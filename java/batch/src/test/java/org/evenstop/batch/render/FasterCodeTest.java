// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;

/** A short HD clip is not worth it; the same in UHD is, and so is a longer one. */
class FasterCodeTest {
    @Test
    void longClipsAndManyAreWorthIt() {
        assertFalse(FasterCode.isWorth(0));
        assertFalse(FasterCode.isWorth(96L * 1920 * 1080));
        assertTrue(FasterCode.isWorth(48L * 3840 * 2160));
        assertTrue(FasterCode.isWorth(10L * 24 * 1920 * 1080));
        // Longer than an int counts.
        assertTrue(FasterCode.isWorth(100_000L * 3840 * 2160));
    }

    @Test
    void whateverAHeaderSaysTheSumIsRight() {
        assertEquals(7 + 24L * 1920 * 1080, FasterCode.sum(7, 24, 1920, 1080));
        assertEquals(1920 * 1080, FasterCode.sum(0, 0, 1920, 1080), "a clip of unknown length has one frame at least");
        long sum = 0;
        for (int clip = 0; clip < 10_000; clip++) {
            sum = FasterCode.sum(sum, Long.MAX_VALUE, 16_384, 16_384);
            assertTrue(FasterCode.isWorth(sum), "clip " + clip);
        }
    }
}
