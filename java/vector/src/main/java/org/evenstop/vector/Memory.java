// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import java.lang.foreign.MemorySegment;
import java.lang.foreign.ValueLayout;
import java.nio.ByteBuffer;
import java.util.Objects;

/**
 * Memory outside the Java heap by its address.
 *
 * <p>An access to a segment asks where the segment ends, whether it is still open and what kind it is: where a loop meets segments of several kinds
 * the compiler leaves all that inside, thirty instructions for each register that is read or written, half the time of a frame. Loops therefore
 * access {@link #NATIVE}, of which all is constant, and who calls them asks {@link #at} or {@link FrameMemory#at} once for each run of bytes. The memory must
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
     * Asks for a byte, which a buffer gives to those alone who may have it.
     *
     * @throws IllegalStateException where the buffer's memory is closed, or belongs to another thread
     */
    static void requireOpen(ByteBuffer buffer) {
        try {
            buffer.get(0);
        } catch (IllegalStateException | WrongThreadException e) {
            throw new IllegalStateException("the frame's memory is closed or belongs to another thread", e);
        }
    }

    /**
     * The address of the first byte of a direct buffer. Only a segment tells it; as this one goes nowhere from here, compiled code makes none. Whether the
     * memory is open is asked by {@link #requireOpen}: asked here it would make the compiler keep the segment's session.
     */
    static long address(ByteBuffer buffer) {
        return MemorySegment.ofBuffer(buffer).address();
    }

    /**
     * The address of {@code bytes} bytes of a direct buffer.
     *
     * @throws IllegalStateException     where its memory is closed, or belongs to another thread
     * @throws IndexOutOfBoundsException where they are not all within it
     */
    static long at(ByteBuffer buffer, long offset, long bytes) {
        requireOpen(buffer);
        Objects.checkFromIndexSize(offset, bytes, buffer.remaining());
        return address(buffer) + offset;
    }

    /** Copies floats from one address to another; the two runs are apart. */
    static void copy(long from, long to, int floats) {
        MemorySegment.copy(NATIVE, from, NATIVE, to, (long) Float.BYTES * floats);
    }

    /** Makes bytes zero. */
    static void clear(long at, long bytes) {
        for (int i = 0; i < (int) bytes; i++) {
            NATIVE.set(ValueLayout.JAVA_BYTE, at + i, (byte) 0);
        }
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
