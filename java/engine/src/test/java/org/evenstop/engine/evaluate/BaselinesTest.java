// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Arrays;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.junit.jupiter.api.Test;

/** The general baselines against what is published or can be reckoned by hand. */
class BaselinesTest {
    /** R. C. Gonzalez and R. E. Woods, Digital Image Processing, 3rd ed. 2008, Table 3.1 and Example 3.5: 64x64 pixels of 3 bit. */
    @Test
    void equalisationGivesTheWorkedExampleOfGonzalezAndWoods() {
        int[] counts = {790, 1023, 850, 656, 329, 245, 122, 81};
        int[] map = Baselines.equalisation(counts, 8);
        assertArrayEquals(new int[] {1, 3, 5, 6, 6, 7, 7, 7}, map);
        int[] after = new int[8];
        for (int i = 0; i < 8; i++) {
            after[map[i]] += counts[i];
        }
        assertArrayEquals(new int[] {0, 790, 0, 1023, 0, 850, 985, 448}, after);
    }

    /** Greys from code 200 to 455, each four times, in two colours. */
    private static PlanarFrame ramp() {
        PlanarFrame f = PlanarFrame.allocate(64, 16, ChromaSampling.S444, CodeDepth.BITS10, LumaStandard.BT709, false, true, false);
        for (int y = 0; y < 16; y++) {
            for (int x = 0; x < 64; x++) {
                f.setLumaCode(x, y, 200 + (y % 4 * 64 + x));
                f.setCbCode(x, y, y < 8 ? 512 : 530);
                f.setCrCode(x, y, y < 8 ? 512 : 500);
            }
        }
        return f;
    }

    private static int[] lumas(PlanarFrame f) {
        int[] codes = new int[f.width() * f.height()];
        for (int i = 0; i < codes.length; i++) {
            codes[i] = f.lumaCode(i % f.width(), i / f.width());
        }
        Arrays.sort(codes);
        return codes;
    }

    @Test
    void stretchPutsItsPercentilesOnTheirLevels() {
        int[] codes = lumas(Baselines.stretched(ramp()));
        // The smallest code that 0.5 % of 1024 reach is the second, the smallest that 99.5 % reach the last but one.
        assertEquals(64 + 0.03 * 876, codes[4], 0.51);
        assertEquals(64 + 0.98 * 876, codes[4 * 254], 0.51);
    }

    @Test
    void gammaPutsTheMedianOnItsLevel() {
        int[] codes = lumas(Baselines.gammaToMedian(ramp()));
        assertEquals(64 + 0.42 * 876, codes[511], 2);
    }

    @Test
    void equalisedLumaIsSpreadEvenlyAndChromaIsKept() {
        PlanarFrame out = Baselines.equalised(ramp());
        int[] codes = lumas(out);
        for (int i = 3; i < 1024; i += 4) {
            assertEquals(64 + 876 * (i + 1) / 1024.0, codes[i], 0.51);
        }
        assertEquals(530, out.cbCode(0, 15));
        assertEquals(500, out.crCode(0, 15));
    }

    @Test
    void aFrameOfOneGreyStaysFiniteAndLegal() {
        PlanarFrame f = PlanarFrame.allocate(16, 16, ChromaSampling.S444, CodeDepth.BITS8, LumaStandard.BT709, false, true, false);
        for (int i = 0; i < 256; i++) {
            f.setLumaCode(i % 16, i / 16, 90);
            f.setCbCode(i % 16, i / 16, 128);
            f.setCrCode(i % 16, i / 16, 128);
        }
        for (PlanarFrame out : new PlanarFrame[] {Baselines.stretched(f), Baselines.gammaToMedian(f), Baselines.equalised(f)}) {
            int code = out.lumaCode(3, 3);
            assertTrue(code >= 1 && code <= 254, "code " + code);
            assertEquals(128, out.cbCode(3, 3));
        }
    }
}
