// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import java.lang.foreign.MemorySegment;
import java.util.Objects;

/**
 * Memory outside the Java heap by its address.
 *
 * <p>An access to a segment asks where the segment ends, whether it is still open and what kind it is: where a loop meets segments of several kinds
 * the compiler leaves all that inside, thirty instructions for each register that is read or written, half the time of a frame. Loops therefore
 * access {@link #NATIVE}, of which all is constant, and who calls them asks {@link #at} once for each run of bytes. The memory must
 * stay reachable meanwhile.
 */
final class Memory {
    /** All memory outside the Java heap; an offset is an address. */
    static final MemorySegment NATIVE = everything();

    private Memory() {
    }

    @SuppressWarnings("restricted")
    private static MemorySegment everything() {
        return MemorySegment.NULL.reinterpret(Long.MAX_VALUE);
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
}
