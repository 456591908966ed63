// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

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
}
