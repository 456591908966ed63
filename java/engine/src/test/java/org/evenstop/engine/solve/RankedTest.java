// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.Arrays;
import java.util.Random;
import java.util.function.IntToDoubleFunction;
import java.util.stream.IntStream;
import org.junit.jupiter.api.Test;

class RankedTest {
    /** What {@link Arrays#sort(double[])} puts there, and the given values as they were. */
    private static void assertRanks(String what, double[] given) {
        double[] sorted = given.clone();
        Arrays.sort(sorted);
        double[] kept = given.clone();
        Ranked inOrder = new Ranked(given);
        Random random = new Random(7);
        Ranked anyhow = new Ranked(given);
        for (int i = 0; i < given.length; i++) {
            assertEquals(sorted[i], inOrder.at(i), what + ", rank " + i + " of " + given.length);
            int rank = random.nextInt(given.length);
            assertEquals(sorted[rank], anyhow.at(rank), what + ", rank " + rank + " of " + given.length);
        }
        for (int i = 0; i < 20; i++) {
            int from = random.nextInt(given.length);
            int to = from + 1 + random.nextInt(given.length - from);
            assertArrayEquals(Arrays.copyOfRange(sorted, from, to), Arrays.copyOfRange(new Ranked(given).rising(from, to), from, to),
                what + ", ranks " + from + " to " + to + " of " + given.length);
        }
        assertArrayEquals(kept, given, what);
    }

    private static double[] values(int n, IntToDoubleFunction value) {
        return IntStream.range(0, n).mapToDouble(value).toArray();
    }

    @Test
    void ranksAreThoseOfSorting() {
        for (int n : new int[] {1, 2, 31, 32, 33, 500, 3000}) {
            Random random = new Random(n);
            assertRanks("even", values(n, i -> random.nextDouble()));
            assertRanks("normal", values(n, i -> random.nextGaussian()));
            assertRanks("ten-bit codes", values(n, i -> (random.nextInt(200) - 64) / 876.0));
            assertRanks("two values", values(n, i -> random.nextInt(2)));
            assertRanks("all the same", values(n, i -> 0.3));
            assertRanks("falling", values(n, i -> -i));
            assertRanks("most in one place and one far away", values(n, i -> i == n / 3 ? 1e12 : random.nextDouble()));
            assertRanks("neighbouring numbers", values(n, i -> 1 + random.nextInt(3) * Math.ulp(1.0)));
            assertRanks("very small", values(n, i -> random.nextInt(50) * Double.MIN_VALUE));
            assertRanks("very large", values(n, i -> (random.nextDouble() - 0.5) * Double.MAX_VALUE));
            assertRanks("larger than their difference can be", values(n, i -> i % 2 == 0 ? Double.MAX_VALUE : -Double.MAX_VALUE));
        }
    }

    @Test
    void whatIsNoNumberIsLastAndInfinitiesAreEnds() {
        for (int n : new int[] {5, 100}) {
            Random random = new Random(n);
            assertRanks("NaN among them", values(n, i -> i % 4 == 0 ? Double.NaN : random.nextDouble()));
            assertRanks("infinity among them", values(n, i -> i % 4 == 0 ? Double.POSITIVE_INFINITY : random.nextDouble()));
            assertRanks("both infinities", values(n, i -> i % 4 == 0 ? Double.NEGATIVE_INFINITY : i % 4 == 1 ? Double.POSITIVE_INFINITY : random.nextDouble()));
        }
    }
}
