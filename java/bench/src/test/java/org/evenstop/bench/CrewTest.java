// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;

import java.util.concurrent.atomic.AtomicIntegerArray;
import org.junit.jupiter.api.Test;

/** The threads of a timed run: every row once, whatever their number; a failure is not lost. */
class CrewTest {
    @Test
    void everyRowIsDoneOnceInEachFrame() {
        for (int threads = 1; threads <= 5; threads++) {
            try (Crew crew = new Crew(threads)) {
                for (int height : new int[] {1, 39, 40, 41, 270, 1081}) {
                    AtomicIntegerArray done = new AtomicIntegerArray(height);
                    for (int frame = 1; frame <= 20; frame++) {
                        crew.run((from, to) -> {
                            for (int row = from; row < to; row++) {
                                done.incrementAndGet(row);
                            }
                        }, height);
                        for (int row = 0; row < height; row++) {
                            assertEquals(frame, done.get(row), "row " + row + " of " + height + ", " + threads + " threads");
                        }
                    }
                }
            }
        }
    }

    @Test
    void aFailureInABandReachesTheCaller() {
        try (Crew crew = new Crew(3)) {
            assertThrows(WrongResultException.class, () -> crew.run((from, to) -> {
                if (from == Crew.BAND) {
                    throw new WrongResultException("wrong");
                }
            }, 10 * Crew.BAND));
            crew.run((from, to) -> { }, 100);
        }
    }
}
