// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import java.lang.foreign.Arena;
import java.nio.ByteBuffer;
import java.util.Objects;

/**
 * The memory of a frame, or of one of its planes, while a pass works on it: where it lies and how long it is, as numbers, so that a frame makes no
 * object. A pass keeps some of these for good, opens them on the memory of the frame in hand, and closes them with it: what is closed keeps nothing
 * of a host's reachable. Used by one thread.
 */
final class FrameMemory {
    private static final int CACHE_LINE = 64;

    private ByteBuffer memory;
    private long address;
    private long bytes;

    /** Memory of our own outside the heap, on a cache line, open for good; all zero. */
    static FrameMemory stage(int bytes) {
        FrameMemory stage = new FrameMemory();
        stage.open(Arena.ofAuto().allocate(bytes, CACHE_LINE).asByteBuffer());
        return stage;
    }

    /**
     * Asked once for a pass: asked for each block it can be measured in a frame's time.
     *
     * @throws IllegalStateException where the memory is closed, or belongs to another thread
     */
    void open(ByteBuffer next) {
        memory = null;
        Memory.requireOpen(next);
        address = next.isDirect() ? Memory.address(next) : 0;
        bytes = next.remaining();
        memory = next;
    }

    void close() {
        memory = null;
        bytes = 0;
    }

    /** Whether it lies outside the Java heap: only there it has an address. */
    boolean isNative() {
        return memory.isDirect();
    }

    /** Of memory outside the heap. */
    long address() {
        return address;
    }

    boolean isApartFrom(FrameMemory other) {
        return address + bytes <= other.address || other.address + other.bytes <= address;
    }

    /** Whether so many bytes from an offset on are all within it. */
    boolean holds(long offset, long count) {
        return offset + count <= bytes;
    }

    /**
     * The address of some bytes, of memory outside the heap.
     *
     * @throws IndexOutOfBoundsException where they are not all within it
     */
    long at(long offset, long count) {
        Objects.checkFromIndexSize(offset, count, bytes);
        return address + offset;
    }

    /** Copies bytes from here to the beginning of a stage; memory of either kind. */
    void copyTo(FrameMemory stage, long offset, long count) {
        stage.memory.put(0, memory, Math.toIntExact(offset), Math.toIntExact(count));
    }

    /** Copies bytes from the beginning of a stage to here. */
    void copyFrom(FrameMemory stage, long offset, long count) {
        memory.put(Math.toIntExact(offset), stage.memory, 0, Math.toIntExact(count));
    }
}
