// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Native;
import com.sun.jna.Pointer;
import java.nio.charset.CharacterCodingException;
import java.nio.charset.StandardCharsets;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.json.EvenstopFiles;

/** Where the fields of the argument blocks lie: byte offsets, the structs of {@code bridge.h} in the same order. */
final class Blocks {
    static final int MESSAGE = 0;
    static final int MESSAGE_CAPACITY = 8;

    static final int PREPARE_TEXT = 16;
    static final int PREPARE_LENGTH = 24;
    static final int PREPARE_HANDLE = 32;
    static final int PREPARE_IDENTITY = 40;
    static final int PREPARE_BYTES = 48;

    /** Fields of EvLook, from its beginning inside another block. */
    static final int LOOK_SKY = 0;
    static final int LOOK_HORIZON = 8;
    static final int LOOK_ANGLE = 16;
    static final int LOOK_FEATHER = 24;
    static final int LOOK_MIX = 32;
    /** x1, y1, x2, y2. */
    static final int LOOK_X1 = 40;
    static final int LOOK_SCALE_X = 72;
    static final int LOOK_SCALE_Y = 80;
    static final int LOOK_PIXEL_ASPECT = 88;
    static final int LOOK_VIEW = 96;
    static final int LOOK_ZEBRA = 104;
    static final int LOOK_SPLIT = 112;
    static final int LOOK_WAVEFORM = 120;
    static final int LOOK_BYTES = 128;

    static final int RENDER_HANDLE = 16;
    static final int RENDER_SOURCE = 24;
    static final int RENDER_SOURCE_STRIDE = 32;
    static final int RENDER_DESTINATION = 40;
    static final int RENDER_DESTINATION_STRIDE = 48;
    static final int RENDER_WIDTH = 56;
    static final int RENDER_ROWS = 64;
    static final int RENDER_DEPTH = 72;
    static final int RENDER_COMPONENTS = 80;
    static final int RENDER_ALPHA = 88;
    static final int RENDER_STRENGTH = 96;
    static final int RENDER_PIXEL_X = 104;
    static final int RENDER_PIXEL_Y = 112;
    static final int RENDER_LOOK = 120;
    static final int RENDER_BYTES = RENDER_LOOK + LOOK_BYTES;

    static final int WAVEFORM_HANDLE = 16;
    static final int WAVEFORM_SOURCE = 24;
    static final int WAVEFORM_STRIDE = 32;
    static final int WAVEFORM_WIDTH = 40;
    static final int WAVEFORM_ROWS = 48;
    static final int WAVEFORM_DEPTH = 56;
    static final int WAVEFORM_COMPONENTS = 64;
    static final int WAVEFORM_ALPHA = 72;
    static final int WAVEFORM_STRENGTH = 80;
    static final int WAVEFORM_PIXEL_X = 88;
    static final int WAVEFORM_PIXEL_Y = 96;
    static final int WAVEFORM_WAVEFORM = 104;
    static final int WAVEFORM_LOOK = 112;
    static final int WAVEFORM_BYTES = WAVEFORM_LOOK + LOOK_BYTES;

    static final int BEGIN_SAMPLE_SIZE = 16;
    static final int BEGIN_METER = 24;
    static final int BEGIN_BYTES = 32;

    static final int ADD_METER = 16;
    static final int ADD_FRAME = 24;
    static final int ADD_STRIDE = 32;
    static final int ADD_WIDTH = 40;
    static final int ADD_ROWS = 48;
    static final int ADD_DEPTH = 56;
    static final int ADD_COMPONENTS = 64;
    static final int ADD_ALPHA = 72;
    static final int ADD_SECONDS = 80;
    static final int ADD_BYTES = 88;

    static final int END_METER = 16;
    static final int END_TEXT = 24;
    static final int END_LENGTH = 32;
    static final int END_BYTES = 40;

    static final int DROP_METER = 16;
    static final int DROP_BYTES = 24;

    static final int SOLVE_MEASUREMENT = 16;
    static final int SOLVE_MEASUREMENT_LENGTH = 24;
    static final int SOLVE_WISHES = 32;
    static final int SOLVE_WISHES_LENGTH = 40;
    static final int SOLVE_CORRECTION = 48;
    static final int SOLVE_CORRECTION_LENGTH = 56;
    static final int SOLVE_SKY = 64;
    static final int SOLVE_SKY_LENGTH = 72;
    static final int SOLVE_FOUND = 80;
    static final int SOLVE_FOUND_LENGTH = 88;
    static final int SOLVE_BYTES = 96;

    static final int FILE_OPERATION = 16;
    static final int FILE_PATH = 24;
    static final int FILE_TEXT = 32;
    static final int FILE_LENGTH = 40;
    static final int FILE_CONTENT = 48;
    static final int FILE_CONTENT_LENGTH = 56;
    static final int FILE_FOUND = 64;
    static final int FILE_FOUND_LENGTH = 72;
    static final int FILE_BYTES = 80;

    static final int FREE_TEXT = 16;
    static final int FREE_BYTES = 24;

    private static final SampleDepth[] DEPTHS = {SampleDepth.BYTE, SampleDepth.SHORT, SampleDepth.HALF, SampleDepth.FLOAT};
    private static final Components[] COMPONENTS = {Components.RGBA, Components.RGB, Components.ALPHA};
    private static final AlphaState[] ALPHAS = {AlphaState.OPAQUE, AlphaState.PREMULTIPLIED, AlphaState.UNPREMULTIPLIED};

    private Blocks() {
    }

    /** The text a block points to. {@code what} names it in messages. */
    static String text(Pointer block, int address, int length, String what) {
        long bytes = block.getLong(length);
        if (bytes < 0 || bytes > EvenstopFiles.LARGEST_FILE) {
            throw new InputException(what + ": " + bytes + " bytes are more than " + EvenstopFiles.LARGEST_FILE + " (4 MiB)");
        }
        byte[] content = bytes == 0 ? new byte[0] : block.getPointer(address).getByteArray(0, (int) bytes);
        try {
            return StandardCharsets.UTF_8.newDecoder().decode(java.nio.ByteBuffer.wrap(content)).toString();
        } catch (CharacterCodingException e) {
            throw new InputException(what + ": is not UTF-8 text", e);
        }
    }

    /** A zero-terminated text. */
    static String word(Pointer block, int address) {
        return block.getPointer(address).getString(0, "UTF-8");
    }

    /** Copies a text to native memory that the caller hands back with free_text. */
    static void giveText(Pointer block, int address, int length, String text) {
        byte[] bytes = text.getBytes(StandardCharsets.UTF_8);
        long memory = Native.malloc(bytes.length + 1L);
        if (memory == 0) {
            throw new OutOfMemoryError("native memory for a text of " + bytes.length + " bytes");
        }
        Pointer place = new Pointer(memory);
        place.write(0, bytes, 0, bytes.length);
        place.setByte(bytes.length, (byte) 0);
        block.setLong(address, memory);
        block.setLong(length, bytes.length);
    }

    /**
     * A view of rows in native memory; nothing is copied.
     *
     * @param address of the first pixel of row 0
     * @param stride  signed bytes from a row to the next
     */
    static PackedFrame frame(long address, long stride, long width, long rows, long depth, long components, long alpha) {
        SampleDepth samples = of(DEPTHS, depth, "depth");
        Components layout = of(COMPONENTS, components, "components");
        AlphaState state = of(ALPHAS, alpha, "alpha");
        if (width < 1 || rows < 1 || width > Integer.MAX_VALUE || rows > Integer.MAX_VALUE || address == 0) {
            throw new InputException("frame of " + width + "x" + rows + " pixels at address " + address + "; at least 1x1 at a real address is needed");
        }
        long rowBytes = width * layout.count() * samples.bytes();
        long above = stride > Integer.MAX_VALUE || stride < -Integer.MAX_VALUE ? Long.MAX_VALUE : (rows - 1) * Math.abs(stride);
        if (rowBytes > Integer.MAX_VALUE || above > Integer.MAX_VALUE - rowBytes) {
            throw new InputException("frame of " + width + "x" + rows + " pixels with rows " + stride
                + " bytes apart spans more than 2 GiB; use a smaller frame or a smaller depth");
        }
        long base = stride < 0 ? address - above : address;
        int origin = stride < 0 ? (int) above : 0;
        int step = rows == 1 ? (int) rowBytes : (int) stride;
        return new PackedFrame(new Pointer(base).getByteBuffer(0, above + rowBytes), origin, step, (int) width, (int) rows, layout, samples, state);
    }

    private static <T> T of(T[] values, long number, String what) {
        if (number < 0 || number >= values.length) {
            throw new InputException(what + " number " + number + " is not known; 0 to " + (values.length - 1) + " are");
        }
        return values[(int) number];
    }
}
