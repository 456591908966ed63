// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.colour;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Map;
import org.evenstop.engine.Published;
import org.junit.jupiter.api.Test;

/** CIEDE2000 against the 34 pairs of Sharma, Wu and Dalal (2005), and L*a*b* at known points. */
class Ciede2000Test {
    private static Lab lab(Map<String, String> row, int which) {
        return new Lab(Published.number(row, "l" + which), Published.number(row, "a" + which), Published.number(row, "b" + which));
    }

    @Test
    void meetsThePublishedPairs() {
        List<Map<String, String>> rows = Published.rows("ciede2000.csv");
        assertEquals(34, rows.size());
        for (Map<String, String> row : rows) {
            Lab one = lab(row, 1);
            Lab two = lab(row, 2);
            // The largest difference between the published values and the formula is 4.95e-5: four decimals.
            assertEquals(Published.number(row, "difference"), Ciede2000.difference(one, two), 1e-4, "pair " + row.get("pair"));
            assertEquals(Ciede2000.difference(one, two), Ciede2000.difference(two, one), 1e-12, "pair " + row.get("pair") + " the other way round");
            assertEquals(0, Ciede2000.difference(one, one), 1e-12);
        }
    }

    /**
     * Pair 10 has hues 180 degrees apart on paper, so the last bit of the arc tangent decides which mean hue is taken: 7.1792 as
     * published for a difference of at most 180, 7.2195 beyond. Here the difference must come out at most 180.
     */
    @Test
    void pair10TakesThePublishedBranch() {
        Map<String, String> row = Published.rows("ciede2000.csv").get(9);
        assertEquals("10", row.get("pair"));
        Lab one = lab(row, 1);
        Lab two = lab(row, 2);
        double mean = (Math.hypot(one.a(), one.b()) + Math.hypot(two.a(), two.b())) / 2;
        double g = 0.5 * (1 - Math.sqrt(Math.pow(mean, 7) / (Math.pow(mean, 7) + Math.pow(25, 7))));
        double h1 = (Math.toDegrees(Math.atan2(one.b(), (1 + g) * one.a())) + 360) % 360;
        double h2 = (Math.toDegrees(Math.atan2(two.b(), (1 + g) * two.a())) + 360) % 360;
        assertTrue(Math.abs(h1 - h2) <= 180, "hues " + h1 + " and " + h2 + " differ by " + Math.abs(h1 - h2));
        assertEquals(7.1792, Ciede2000.difference(one, two), 1e-4);
    }

    /** White and black of D65, and that a grey has no colour (CIE 15). Mid grey 18.42 % is L* 50 by the formula: ((50 + 16) / 116)^3. */
    @Test
    void labOfGreysHasNoColour() {
        for (double level : new double[] {0.01, 0.2, 0.5, 0.75, 1}) {
            Lab lab = Lab.ofBt709(level, level, level);
            assertEquals(0, lab.a(), 2e-4);
            assertEquals(0, lab.b(), 2e-4);
        }
        assertEquals(100, Lab.ofBt709(1, 1, 1).l(), 1e-6);
        assertEquals(0, Lab.ofBt709(0, 0, 0).l(), 1e-9);
        assertEquals(0, Lab.ofBt709(-0.05, -0.05, -0.05).l(), 1e-9, "below black counts as black");
        double y = Math.pow(66.0 / 116, 3);
        assertEquals(50, Lab.ofXyz(0.3127 / 0.3290 * y, y, (1 - 0.3127 - 0.3290) / 0.3290 * y).l(), 1e-9);
        assertTrue(Lab.ofBt709(1.09, 1.09, 1.09).l() > 100, "levels above white are kept");
    }
}
