// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static java.lang.foreign.ValueLayout.ADDRESS;
import static java.lang.foreign.ValueLayout.JAVA_INT;
import static java.lang.foreign.ValueLayout.JAVA_LONG;

import java.lang.foreign.Arena;
import java.lang.foreign.FunctionDescriptor;
import java.lang.foreign.Linker;
import java.lang.foreign.MemorySegment;
import java.lang.foreign.SymbolLookup;
import java.lang.invoke.MethodHandle;
import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.util.Random;

/**
 * Native memory between pages that no one may touch, where the system is Linux: a loop that reads or writes a byte too many ends the process. Elsewhere
 * only what is written beside a buffer is seen. Kept until the process ends.
 */
final class FencedMemory {
    /** A multiple of every page size in use. */
    private static final int PAGE = 65536;
    private static final boolean LINUX = System.getProperty("os.name").equals("Linux");

    private final ByteBuffer whole;

    /** @param bytes that one buffer may need */
    FencedMemory(int bytes) {
        int inside = (bytes + PAGE - 1) / PAGE * PAGE;
        whole = (LINUX ? fenced(inside) : Arena.global().allocate(inside, PAGE)).asByteBuffer();
    }

    @SuppressWarnings("restricted")
    private static MemorySegment fenced(long inside) {
        // Of <sys/mman.h> on Linux.
        int readAndWrite = 3;
        int nothing = 0;
        int privateAnonymous = 0x22;
        Linker linker = Linker.nativeLinker();
        SymbolLookup library = linker.defaultLookup();
        MethodHandle map = linker.downcallHandle(library.find("mmap").orElseThrow(),
            FunctionDescriptor.of(ADDRESS, ADDRESS, JAVA_LONG, JAVA_INT, JAVA_INT, JAVA_INT, JAVA_LONG));
        MethodHandle protect = linker.downcallHandle(library.find("mprotect").orElseThrow(),
            FunctionDescriptor.of(JAVA_INT, ADDRESS, JAVA_LONG, JAVA_INT));
        try {
            long all = inside + 2 * PAGE;
            MemorySegment mapped = (MemorySegment) map.invokeExact(MemorySegment.NULL, all, nothing, privateAnonymous, -1, 0L);
            if (mapped.address() == -1) {
                throw new IllegalStateException("mmap gives no " + all + " bytes");
            }
            MemorySegment middle = MemorySegment.ofAddress(mapped.address() + PAGE).reinterpret(inside);
            int failed = (int) protect.invokeExact(middle, inside, readAndWrite);
            if (failed != 0) {
                throw new IllegalStateException("mprotect refuses");
            }
            return middle;
        } catch (RuntimeException | Error e) {
            throw e;
        } catch (Throwable e) {
            throw new IllegalStateException(e);
        }
    }

    /** A buffer against the fence before it, against the one behind it, or anywhere. */
    ByteBuffer buffer(int bytes, Random random) {
        int room = whole.capacity() - bytes;
        int at = new int[] {0, room, random.nextInt(room + 1)}[random.nextInt(3)];
        return whole.slice(at, bytes).order(ByteOrder.nativeOrder());
    }

    /** Where such a buffer begins. */
    int offsetOf(ByteBuffer buffer) {
        return (int) (MemorySegment.ofBuffer(buffer).address() - MemorySegment.ofBuffer(whole).address());
    }

    /** All bytes between the fences. */
    ByteBuffer whole() {
        return whole;
    }

    void fill(byte[] noise) {
        whole.put(0, noise, 0, whole.capacity());
    }
}
