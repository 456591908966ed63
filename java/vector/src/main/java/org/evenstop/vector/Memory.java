// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import java.lang.foreign.MemorySegment;
import java.lang.foreign.ValueLayout;
import java.util.Objects;

/**
 * Memory outside the Java heap by its address.
 *
 * <p>An access to a segment asks where the segment ends, whether it is still open and what kind it is: where a loop meets segments of several kinds
 * the compiler leaves all that inside, thirty instructions for each register that is read or written, half the time of a frame. Loops therefore
 * access {@link #NATIVE}, of which all is constant, and who calls them asks {@link #at} once for each run of bytes. The memory must
 * stay reachable and open meanwhile; whether a destination may be written to is asked before ({@link
 * org.evenstop.engine.kernel.ScalarKernel#requireBand}).
 */
final class Memory {
    private static final int CACHE_LINE = 64;

    /** All memory outside the Java heap; an offset is an address. Null where {@link #require} refuses. */
    static final MemorySegment NATIVE = everything();

    private Memory() {
    }

    @SuppressWarnings("restricted")
    private static MemorySegment everything() {
        try {
            return MemorySegment.NULL.reinterpret(Long.MAX_VALUE);
        } catch (IllegalCallerException refused) {
            return null;
        }
    }

    /** @throws UnsupportedOperationException where this process has no native access */
    static void require() {
        if (NATIVE == null) {
            throw new UnsupportedOperationException("native access is not allowed; start Java with --enable-native-access=ALL-UNNAMED");
        }
    }

    /**
     * The same segment, asked once for a pass: asked for each block it can be measured in a frame's time.
     *
     * @throws IllegalStateException where it is closed, or belongs to another thread
     */
    static MemorySegment open(MemorySegment segment) {
        if (!segment.scope().isAlive() || !segment.isAccessibleBy(Thread.currentThread())) {
            throw new IllegalStateException("the frame's memory is closed or belongs to another thread");
        }
        return segment;
    }

    /**
     * The address of {@code bytes} bytes of a segment outside the heap.
     *
     * @throws IndexOutOfBoundsException where they are not all within the segment
     */
    static long at(MemorySegment segment, long offset, long bytes) {
        Objects.checkFromIndexSize(offset, bytes, segment.byteSize());
        return segment.address() + offset;
    }

    /** Copies floats from one address to another; the two runs are apart. */
    static void copy(long from, long to, int floats) {
        MemorySegment.copy(NATIVE, from, NATIVE, to, (long) Float.BYTES * floats);
    }

    /**
     * The address itself, after a byte of every cache line of a run was read: bare loads wait for memory side by side, many more of them than those of
     * the loops do.
     */
    static long touched(long from, long bytes) {
        int sum = 0;
        for (int at = 0; at < (int) bytes; at += CACHE_LINE) {
            sum += NATIVE.get(ValueLayout.JAVA_BYTE, from + at);
        }
        if (sum == Integer.MIN_VALUE) {
            // No sum of so few bytes; it must be used, or the compiler leaves the reading out.
            throw new IllegalStateException();
        }
        return from;
    }
}
