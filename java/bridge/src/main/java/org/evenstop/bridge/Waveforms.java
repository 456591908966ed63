// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Pointer;
import java.util.Map;
import java.util.concurrent.ConcurrentHashMap;
import java.util.concurrent.atomic.AtomicLong;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.mask.MaskedCorrection;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.view.Waveform;

/** Waveforms of pictures being rendered, by handle: made from the whole source, used by every strip, dropped with the frame. */
final class Waveforms {
    private static final Map<Long, Waveform> OPEN = new ConcurrentHashMap<>();
    private static final AtomicLong LAST = new AtomicLong();

    private Waveforms() {
    }

    static void make(Pointer block) {
        Correction ground = Corrections.of(block.getLong(Blocks.WAVEFORM_HANDLE));
        MaskedCorrection masked = Looks.masked(block, Blocks.WAVEFORM_LOOK, ground);
        float strength = Corrections.strength(block.getDouble(Blocks.WAVEFORM_STRENGTH));
        PackedFrame source = Blocks.frame(block.getLong(Blocks.WAVEFORM_SOURCE), block.getLong(Blocks.WAVEFORM_STRIDE),
            block.getLong(Blocks.WAVEFORM_WIDTH), block.getLong(Blocks.WAVEFORM_ROWS), block.getLong(Blocks.WAVEFORM_DEPTH),
            block.getLong(Blocks.WAVEFORM_COMPONENTS), block.getLong(Blocks.WAVEFORM_ALPHA));
        if (source.components() == Components.ALPHA) {
            throw new InputException("Alpha alone has no luma to draw a waveform of");
        }
        Waveform waveform = Waveform.of(source, Looks.place(block, Blocks.WAVEFORM_LOOK, Blocks.WAVEFORM_PIXEL_X, Blocks.WAVEFORM_PIXEL_Y),
            ground.standard(), (picture, place) -> {
                if (masked == null) {
                    Kernels.chosen().apply(picture, picture, 0, picture.height(), ground, strength);
                } else {
                    masked.apply(Kernels.chosen(), picture, picture, 0, picture.height(), place, strength);
                }
            });
        long handle = LAST.incrementAndGet();
        OPEN.put(handle, waveform);
        block.setLong(Blocks.WAVEFORM_WAVEFORM, handle);
    }

    static void drop(Pointer block) {
        OPEN.remove(block.getLong(Blocks.DROP_METER));
    }

    /** The waveform of a handle; null for 0. */
    static Waveform of(long handle) {
        if (handle == 0) {
            return null;
        }
        Waveform waveform = OPEN.get(handle);
        if (waveform == null) {
            throw new StaleHandleException();
        }
        return waveform;
    }
}
