// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Pointer;
import java.util.Map;
import java.util.concurrent.ConcurrentHashMap;
import java.util.concurrent.atomic.AtomicLong;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;

/** Measuring in progress, by handle. */
final class Meters {
    private static final Map<Long, ClipMeter> OPEN = new ConcurrentHashMap<>();
    private static final AtomicLong LAST = new AtomicLong();

    private Meters() {
    }

    static void begin(Pointer block) {
        long size = block.getLong(Blocks.BEGIN_SAMPLE_SIZE);
        if (size < 256 || size > ClipMeter.DEFAULT_SAMPLE_SIZE) {
            throw new InputException("a sample of " + size + " pixels cannot be kept; 256 to " + ClipMeter.DEFAULT_SAMPLE_SIZE + " can");
        }
        long handle = LAST.incrementAndGet();
        OPEN.put(handle, new ClipMeter(LumaStandard.BT709, (int) size));
        block.setLong(Blocks.BEGIN_METER, handle);
    }

    /** The host's row 0 is the bottom of the picture; the meter's is the top. */
    static void add(Pointer block) {
        ClipMeter meter = OPEN.get(block.getLong(Blocks.ADD_METER));
        if (meter == null) {
            throw new StaleHandleException();
        }
        long stride = block.getLong(Blocks.ADD_STRIDE);
        long rows = block.getLong(Blocks.ADD_ROWS);
        PackedFrame frame = Blocks.frame(block.getLong(Blocks.ADD_FRAME) + (rows - 1) * stride, -stride, block.getLong(Blocks.ADD_WIDTH), rows,
            block.getLong(Blocks.ADD_DEPTH), block.getLong(Blocks.ADD_COMPONENTS), block.getLong(Blocks.ADD_ALPHA));
        meter.add(frame, block.getDouble(Blocks.ADD_SECONDS));
    }

    static void end(Pointer block) {
        ClipMeter meter = OPEN.remove(block.getLong(Blocks.END_METER));
        if (meter == null) {
            throw new StaleHandleException();
        }
        Blocks.giveText(block, Blocks.END_TEXT, Blocks.END_LENGTH, EvenstopFiles.toJson(meter.finish("Source"), true));
    }

    static void drop(Pointer block) {
        OPEN.remove(block.getLong(Blocks.DROP_METER));
    }
}
