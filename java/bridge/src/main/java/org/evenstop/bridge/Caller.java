// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Function;
import com.sun.jna.Memory;
import com.sun.jna.Pointer;

/** C's side of the bridge played by Java: opens it and calls its entry points by their native addresses. One thread. */
final class Caller {
    static final int PREPARE = 0;
    static final int RENDER = 1;
    static final int MEASURE_BEGIN = 2;
    static final int MEASURE_ADD = 3;
    static final int MEASURE_END = 4;
    static final int MEASURE_DROP = 5;
    static final int SOLVE = 6;
    static final int FREE_TEXT = 7;
    static final int WAVEFORM = 8;
    static final int WAVEFORM_DROP = 9;
    static final int FILE = 10;

    private final Function[] entries = new Function[Bridge.ENTRY_POINTS];
    private final Memory message = new Memory(512);

    Caller() {
        Memory struct = new Memory(Bridge.SIZE);
        struct.setInt(0, Bridge.MAGIC);
        struct.setInt(4, Bridge.VERSION);
        struct.setInt(8, Bridge.SIZE);
        if (Bridge.open(Pointer.nativeValue(struct)) != Bridge.OK) {
            throw new IllegalStateException("the bridge refused its own version");
        }
        for (int i = 0; i < entries.length; i++) {
            entries[i] = Function.getFunction(struct.getPointer(Bridge.HEAD_BYTES + 8L * i));
        }
    }

    /** A block of zeros. */
    static Memory block(int bytes) {
        Memory block = new Memory(bytes);
        block.clear();
        return block;
    }

    /** Calls an entry point; its status. */
    int call(int entry, Memory block) {
        message.clear();
        block.setPointer(Blocks.MESSAGE, message);
        block.setLong(Blocks.MESSAGE_CAPACITY, message.size());
        return entries[entry].invokeInt(new Object[] {Pointer.nativeValue(block)});
    }

    /** What the last call said; empty when it said nothing. */
    String message() {
        return message.getString(0, "UTF-8");
    }

    /** As {@link #call}, for calls that must succeed. */
    void require(int entry, Memory block) {
        int status = call(entry, block);
        if (status != Bridge.OK) {
            throw new IllegalStateException("entry point " + entry + " answered " + status + ": " + message());
        }
    }
}
