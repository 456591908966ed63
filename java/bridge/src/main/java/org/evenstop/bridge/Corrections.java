// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Pointer;
import java.util.LinkedHashMap;
import java.util.Map;
import java.util.concurrent.ConcurrentHashMap;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.FramePlace;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.mask.MaskedCorrection;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.view.CheckView;
import org.evenstop.engine.view.View;

/**
 * Corrections by handle. A text is read once; its correction stays until {@value #REMEMBERED} others were used since, then its
 * handle is stale and C prepares the text again. Corrections are immutable, so any number of threads may render with one.
 */
final class Corrections {
    static final int REMEMBERED = 64;

    private static final String KEPT = "correction kept in the project";

    private static final Map<Long, Correction> BY_HANDLE = new ConcurrentHashMap<>();
    /** Handles by text, least recently prepared first; guarded by itself. */
    private static final LinkedHashMap<String, Long> BY_TEXT = new LinkedHashMap<>(REMEMBERED, 0.75f, true);
    private static long lastHandle;

    private Corrections() {
    }

    static void prepare(Pointer block) {
        String text = KeptText.read(block, Blocks.PREPARE_TEXT, Blocks.PREPARE_LENGTH, KEPT, (read, what) -> read);
        long handle;
        Correction correction;
        synchronized (BY_TEXT) {
            Long known = BY_TEXT.get(text);
            if (known == null) {
                correction = KeptText.read(text, KEPT, EvenstopFiles::correctionFromJson);
                handle = ++lastHandle;
                BY_HANDLE.put(handle, correction);
                BY_TEXT.put(text, handle);
                if (BY_TEXT.size() > REMEMBERED) {
                    var eldest = BY_TEXT.entrySet().iterator();
                    BY_HANDLE.remove(eldest.next().getValue());
                    eldest.remove();
                }
            } else {
                handle = known;
                correction = BY_HANDLE.get(handle);
            }
        }
        block.setLong(Blocks.PREPARE_HANDLE, handle);
        block.setLong(Blocks.PREPARE_IDENTITY, correction.isIdentity() ? 1 : 0);
    }

    /** The correction of a handle. */
    static Correction of(long handle) {
        Correction correction = BY_HANDLE.get(handle);
        if (correction == null) {
            throw new StaleHandleException();
        }
        return correction;
    }

    static float strength(double strength) {
        if (!(strength >= 0 && strength <= 1)) {
            throw new InputException("strength " + strength + " is not a share; give 0 to 1");
        }
        return (float) strength;
    }

    static void render(Pointer block) {
        Correction correction = of(block.getLong(Blocks.RENDER_HANDLE));
        float strength = strength(block.getDouble(Blocks.RENDER_STRENGTH));
        PackedFrame source = frame(block, Blocks.RENDER_SOURCE, Blocks.RENDER_SOURCE_STRIDE);
        PackedFrame destination = frame(block, Blocks.RENDER_DESTINATION, Blocks.RENDER_DESTINATION_STRIDE);
        MaskedCorrection masked = Looks.masked(block, Blocks.RENDER_LOOK, correction);
        View view = Looks.view(block, Blocks.RENDER_LOOK);
        if (masked == null && view == View.PICTURE) {
            Kernels.chosen().apply(source, destination, 0, source.height(), correction, strength);
            return;
        }
        FramePlace place = Looks.place(block, Blocks.RENDER_LOOK, Blocks.RENDER_PIXEL_X, Blocks.RENDER_PIXEL_Y);
        if (masked == null) {
            Kernels.chosen().apply(source, destination, 0, source.height(), correction, strength);
        } else {
            masked.apply(Kernels.chosen(), source, destination, 0, source.height(), place, strength);
        }
        if (view != View.PICTURE) {
            CheckView.draw(source, destination, 0, source.height(), place, Looks.settings(block, Blocks.RENDER_LOOK, view, correction),
                Waveforms.of(block.getLong(Blocks.RENDER_LOOK + Blocks.LOOK_WAVEFORM)));
        }
    }

    private static PackedFrame frame(Pointer block, int address, int stride) {
        return Blocks.frame(block.getLong(address), block.getLong(stride), block.getLong(Blocks.RENDER_WIDTH), block.getLong(Blocks.RENDER_ROWS),
            block.getLong(Blocks.RENDER_DEPTH), block.getLong(Blocks.RENDER_COMPONENTS), block.getLong(Blocks.RENDER_ALPHA));
    }
}
