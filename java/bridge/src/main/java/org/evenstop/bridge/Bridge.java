// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Callback;
import com.sun.jna.CallbackReference;
import com.sun.jna.CallbackThreadInitializer;
import com.sun.jna.Native;
import com.sun.jna.Pointer;
import java.nio.charset.StandardCharsets;
import org.evenstop.engine.InputException;

/**
 * Fills the C shim's struct with entry points. Each takes the address of an argument block and returns a status; nothing is
 * ever thrown at the caller.
 */
public final class Bridge {
    static final int MAGIC = 0x54535645;
    static final int VERSION = 2;
    /** Bytes of the struct: four 32-bit words, then the entry points. */
    static final int HEAD_BYTES = 16;
    static final int ENTRY_POINTS = 11;
    static final int SIZE = HEAD_BYTES + 8 * ENTRY_POINTS;

    static final int OK = 0;
    static final int INPUT = 1;
    static final int STALE = 2;
    static final int BROKEN = 3;

    /** The shape of every entry point. */
    public interface Entry extends Callback {
        /**
         * @param block address of the argument block
         * @return a status
         */
        int call(long block);
    }

    /** What an entry point does with its block; it may throw anything. */
    private interface Work {
        void on(Pointer block);
    }

    /**
     * The entry points in the order of the struct. JNA frees the native side of a callback whose object is collected, and C
     * keeps the addresses as long as the process lives: this array must stay reachable for ever.
     */
    private static final Entry[] ENTRIES = {
        guarded(Corrections::prepare), guarded(Corrections::render), guarded(Meters::begin), guarded(Meters::add),
        guarded(Meters::end), guarded(Meters::drop), guarded(Solving::solve), guarded(Bridge::freeText),
        guarded(Waveforms::make), guarded(Waveforms::drop), guarded(KeptFiles::handle),
    };

    private Bridge() {
    }

    /**
     * Called once by C, before anything else.
     *
     * @param address of a struct EvBridge with magic, version and size set
     * @return 0, or 1 when the struct is not the one this class knows; then nothing was written
     */
    public static int open(long address) {
        Pointer struct = new Pointer(address);
        if (struct.getInt(0) != MAGIC || struct.getInt(4) != VERSION || struct.getInt(8) != SIZE) {
            return INPUT;
        }
        for (int i = 0; i < ENTRIES.length; i++) {
            // The shim attaches its threads itself; should one arrive unattached, it must stay attached all the same.
            Native.setCallbackThreadInitializer(ENTRIES[i], new CallbackThreadInitializer(true, false, "evenstop-host"));
            struct.setPointer(HEAD_BYTES + 8L * i, CallbackReference.getFunctionPointer(ENTRIES[i]));
        }
        return OK;
    }

    private static Entry guarded(Work work) {
        return address -> {
            Pointer block = new Pointer(address);
            try {
                work.on(block);
                return OK;
            } catch (StaleHandleException gone) {
                return STALE;
            } catch (InputException wrong) {
                return say(block, INPUT, wrong.getMessage());
            } catch (OutOfMemoryError full) {
                return say(block, BROKEN, "Java ran out of memory; close other effects or render at a smaller size");
            } catch (Throwable broken) {
                return say(block, BROKEN, "the Java side of Evenstop failed: " + broken);
            }
        };
    }

    /** Writes a message into the place the block names, cut to its capacity at a character. */
    private static int say(Pointer block, int status, String message) {
        try {
            long capacity = block.getLong(Blocks.MESSAGE_CAPACITY);
            if (capacity > 0) {
                byte[] bytes = message.replace('\n', ' ').getBytes(StandardCharsets.UTF_8);
                int length = (int) Math.min(bytes.length, capacity - 1);
                while (length > 0 && length < bytes.length && (bytes[length] & 0xc0) == 0x80) {
                    length--;
                }
                Pointer place = block.getPointer(Blocks.MESSAGE);
                place.write(0, bytes, 0, length);
                place.setByte(length, (byte) 0);
            }
        } catch (Throwable alsoBroken) {
            return BROKEN;
        }
        return status;
    }

    private static void freeText(Pointer block) {
        long address = block.getLong(Blocks.FREE_TEXT);
        if (address != 0) {
            Native.free(address);
        }
    }
}
