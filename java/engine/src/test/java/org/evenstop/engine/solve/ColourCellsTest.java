// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;

/** What two clouds of colours have in common. */
class ColourCellsTest {
    private static ColourCloud cloud(double from, double to, double blue) {
        ColourCloud cloud = new ColourCloud(400, 1 / 400.0);
        for (int i = 0; i < 400; i++) {
            cloud.add(from + (to - from) * i / 399, blue, -blue / 2);
        }
        return cloud;
    }

    @Test
    void aCloudHasAllInCommonWithItself() {
        ColourCells cells = cloud(0.1, 0.9, 0.05).cells(0.03);
        assertEquals(1, cells.total(), 1e-9);
        assertEquals(1, cells.common(cells), 1e-9);
    }

    @Test
    void halfOverlappingCloudsHaveAboutHalfInCommon() {
        ColourCells one = cloud(0.1, 0.5, 0).cells(0.03);
        assertEquals(0.5, one.common(cloud(0.3, 0.7, 0).cells(0.03)), 0.05);
    }

    @Test
    void otherColoursOrLevelsHaveNothingInCommon() {
        ColourCells one = cloud(0.1, 0.3, 0.2).cells(0.03);
        assertEquals(0, one.common(cloud(0.1, 0.3, -0.2).cells(0.03)), 1e-12);
        assertEquals(0, one.common(cloud(0.6, 0.8, 0.2).cells(0.03)), 1e-12);
    }

    @Test
    void whatLiesBeyondTheGridCountsAtItsEdge() {
        ColourCloud far = new ColourCloud(2, 0.5);
        far.add(-9, -9, 9);
        far.add(9, 9, -9);
        ColourCells cells = far.cells(0.05);
        assertEquals(1, cells.total(), 1e-9);
        assertTrue(cells.common(cells) > 0.99);
    }
}
