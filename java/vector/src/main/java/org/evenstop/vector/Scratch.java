// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import java.lang.foreign.Arena;
import java.lang.foreign.MemorySegment;
import java.util.ArrayList;
import java.util.List;

/**
 * Floats of one thread outside the Java heap, by their addresses: good as long as this can be reached. Every run begins on a cache line, so that no
 * register lies across two of them, as each does that is read from or written to an array on the heap; and nothing is asked before a loop.
 */
final class Scratch {
    private static final int CACHE_LINE = 64;

    private final List<MemorySegment> kept = new ArrayList<>();

    /** The address of so many floats, all zero. */
    long floats(int count) {
        MemorySegment run = Arena.ofAuto().allocate((long) Float.BYTES * count, CACHE_LINE);
        kept.add(run);
        return run.address();
    }
}
