// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Random;
import org.junit.jupiter.api.Test;

class TautStringTest {
    private static double sumOfSteps(double[] line) {
        double sum = 0;
        for (int i = 1; i < line.length; i++) {
            sum += Math.abs(line[i] - line[i - 1]);
        }
        return sum;
    }

    private static double sumOfSquares(double[] line) {
        double sum = 0;
        for (int i = 1; i < line.length; i++) {
            sum += (line[i] - line[i - 1]) * (line[i] - line[i - 1]);
        }
        return sum;
    }

    /** The least sum of squares by brute force: each place in turn goes midway between its neighbours, as far as the tube lets it. */
    private static double[] relaxed(double[] middle, double[] reach) {
        double[] line = middle.clone();
        for (int round = 0; round < 20_000; round++) {
            for (int i = 0; i < line.length; i++) {
                double left = line[Math.max(0, i - 1)];
                double right = line[Math.min(line.length - 1, i + 1)];
                double wanted = i == 0 ? right : i == line.length - 1 ? left : 0.5 * (left + right);
                line[i] = Math.min(Math.max(wanted, middle[i] - reach[i]), middle[i] + reach[i]);
            }
        }
        return line;
    }

    /** The line of least squares in the tube is one and the same however it is found. */
    @Test
    void itIsTheShortestLineInTheTube() {
        Random random = new Random(5);
        for (int trial = 0; trial < 60; trial++) {
            int n = 2 + random.nextInt(24);
            double[] middle = new double[n];
            double[] reach = new double[n];
            for (int i = 0; i < n; i++) {
                middle[i] = (i == 0 ? 0 : middle[i - 1]) + random.nextGaussian();
                reach[i] = trial % 3 == 0 ? 1 : 2 * random.nextDouble();
            }
            double[] line = TautString.through(middle, reach);
            double[] wanted = relaxed(middle, reach);
            for (int i = 0; i < n; i++) {
                assertTrue(Math.abs(line[i] - middle[i]) <= reach[i] + 1e-12, "trial " + trial + ": leaves the tube at " + i);
            }
            assertEquals(sumOfSquares(wanted), sumOfSquares(line), 1e-6, "trial " + trial);
            assertTrue(sumOfSteps(line) <= sumOfSteps(wanted) + 1e-6, "trial " + trial);
        }
    }

    @Test
    void whatFitsIntoTheTubeIsLevel() {
        double[] line = TautString.through(new double[] {0, 1, -1, 0.5, 1, -0.5}, new double[] {1, 1, 1, 1, 1, 1});
        assertEquals(0, sumOfSteps(line), 0);
        assertEquals(0, line[0], 1e-15);
    }

    @Test
    void withoutReachItIsTheSequence() {
        double[] middle = {3, 1, 4, 1, 5, 9, 2, 6};
        assertArrayEquals(middle, TautString.through(middle, new double[8]), 1e-12);
        assertArrayEquals(new double[] {7}, TautString.through(new double[] {7}, new double[] {0.5}), 0);
        assertEquals(0, TautString.through(new double[0], new double[0]).length);
    }
}
