// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.sun.jna.Memory;
import com.sun.jna.Pointer;
import java.nio.ByteBuffer;
import java.nio.charset.StandardCharsets;
import java.util.Random;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.FramePlace;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.mask.GraduatedMask;
import org.evenstop.engine.mask.MaskedCorrection;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.evenstop.engine.view.CheckView;
import org.evenstop.engine.view.View;
import org.evenstop.engine.view.ViewSettings;
import org.evenstop.engine.view.Waveform;
import org.junit.jupiter.api.Test;

/** Mask and check views through the bridge are what the engine makes of them. */
class LooksTest {
    private static final int WIDTH = 90;
    private static final int HEIGHT = 60;

    private final Caller caller = new Caller();
    private final Memory source = new Memory(16L * WIDTH * HEIGHT);
    private final Memory destination = new Memory(16L * WIDTH * HEIGHT);

    private static Correction bent(double bend) {
        return new Correction(Curve.constant(1.1), Curve.fit(x -> 0.02 + (1 - bend) * x + bend * x * x, 1e-4), Curve.constant(0.9),
            LumaStandard.BT709, CorrectionOrigin.none());
    }

    /** A correction as it comes back from the text that C keeps. */
    private static Correction kept(double bend) {
        return EvenstopFiles.correctionFromJson(EvenstopFiles.toJson(bent(bend)), "test");
    }

    private long handle(Correction correction) {
        byte[] text = EvenstopFiles.toJson(correction).getBytes(StandardCharsets.UTF_8);
        Memory memory = new Memory(text.length);
        memory.write(0, text, 0, text.length);
        Memory block = Caller.block(Blocks.PREPARE_BYTES);
        block.setPointer(Blocks.PREPARE_TEXT, memory);
        block.setLong(Blocks.PREPARE_LENGTH, text.length);
        caller.require(Caller.PREPARE, block);
        return block.getLong(Blocks.PREPARE_HANDLE);
    }

    private PackedFrame filled() {
        PackedFrame frame = PackedFrame.allocate(WIDTH, HEIGHT, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        Random random = new Random(8);
        for (int i = 0; i < 4 * WIDTH * HEIGHT; i++) {
            frame.memory().putFloat(4 * i, 1.15f * random.nextFloat() - 0.03f);
        }
        byte[] bytes = new byte[16 * WIDTH * HEIGHT];
        frame.memory().get(0, bytes);
        source.write(0, bytes, 0, bytes.length);
        return frame;
    }

    private static void look(Memory block, int at, long sky, View view, long waveform) {
        block.setLong(at + Blocks.LOOK_SKY, sky);
        block.setDouble(at + Blocks.LOOK_HORIZON, 55);
        block.setDouble(at + Blocks.LOOK_ANGLE, -8);
        block.setDouble(at + Blocks.LOOK_FEATHER, 30);
        block.setDouble(at + Blocks.LOOK_MIX, 0.9);
        double[] picture = {0, 0, WIDTH, HEIGHT, 1, 1, 1};
        for (int i = 0; i < picture.length; i++) {
            block.setDouble(at + Blocks.LOOK_X1 + 8L * i, picture[i]);
        }
        block.setLong(at + Blocks.LOOK_VIEW, view.ordinal());
        block.setDouble(at + Blocks.LOOK_ZEBRA, 0.7);
        block.setDouble(at + Blocks.LOOK_SPLIT, 0.4);
        block.setLong(at + Blocks.LOOK_WAVEFORM, waveform);
    }

    private long waveform(long ground, long sky) {
        Memory block = Caller.block(Blocks.WAVEFORM_BYTES);
        block.setLong(Blocks.WAVEFORM_HANDLE, ground);
        block.setPointer(Blocks.WAVEFORM_SOURCE, source);
        block.setLong(Blocks.WAVEFORM_STRIDE, 16L * WIDTH);
        block.setLong(Blocks.WAVEFORM_WIDTH, WIDTH);
        block.setLong(Blocks.WAVEFORM_ROWS, HEIGHT);
        block.setLong(Blocks.WAVEFORM_DEPTH, SampleDepth.FLOAT.ordinal());
        block.setDouble(Blocks.WAVEFORM_STRENGTH, 1);
        look(block, Blocks.WAVEFORM_LOOK, sky, View.WAVEFORM, 0);
        caller.require(Caller.WAVEFORM, block);
        return block.getLong(Blocks.WAVEFORM_WAVEFORM);
    }

    private Memory strip(long ground, long sky, View view, long waveform, int from, int to) {
        Memory block = Caller.block(Blocks.RENDER_BYTES);
        block.setLong(Blocks.RENDER_HANDLE, ground);
        block.setLong(Blocks.RENDER_SOURCE, Pointer.nativeValue(source) + 16L * WIDTH * from);
        block.setLong(Blocks.RENDER_SOURCE_STRIDE, 16L * WIDTH);
        block.setLong(Blocks.RENDER_DESTINATION, Pointer.nativeValue(destination) + 16L * WIDTH * from);
        block.setLong(Blocks.RENDER_DESTINATION_STRIDE, 16L * WIDTH);
        block.setLong(Blocks.RENDER_WIDTH, WIDTH);
        block.setLong(Blocks.RENDER_ROWS, to - from);
        block.setLong(Blocks.RENDER_DEPTH, SampleDepth.FLOAT.ordinal());
        block.setDouble(Blocks.RENDER_STRENGTH, 1);
        block.setLong(Blocks.RENDER_PIXEL_Y, from);
        look(block, Blocks.RENDER_LOOK, sky, view, waveform);
        return block;
    }

    @Test
    void stripsOfEveryViewAreWhatTheEngineDraws() {
        PackedFrame frame = filled();
        FramePlace place = FramePlace.whole(WIDTH, HEIGHT);
        MaskedCorrection masked = new MaskedCorrection(new GraduatedMask(55, -8, 30, 0.9), kept(0.05), kept(-0.2));
        long ground = handle(bent(0.05));
        long sky = handle(bent(-0.2));
        for (View view : View.values()) {
            PackedFrame expected = PackedFrame.allocate(WIDTH, HEIGHT, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
            masked.apply(Kernels.chosen(), frame, expected, 0, HEIGHT, place, 1);
            Waveform waveform = Waveform.of(frame, place, LumaStandard.BT709,
                (picture, at) -> masked.apply(Kernels.chosen(), picture, picture, 0, picture.height(), at, 1));
            CheckView.draw(frame, expected, 0, HEIGHT, place, new ViewSettings(view, 0.7, 0.4, 0, 955.0 / 876 - 0.004, LumaStandard.BT709), waveform);
            long open = view == View.WAVEFORM ? waveform(ground, sky) : 0;
            for (int from = 40; from >= 0; from -= 20) {
                caller.require(Caller.RENDER, strip(ground, sky, view, open, from, from + 20));
            }
            byte[] rendered = destination.getByteArray(0, 16 * WIDTH * HEIGHT);
            byte[] wanted = new byte[rendered.length];
            expected.memory().get(0, wanted);
            assertEquals(ByteBuffer.wrap(wanted), ByteBuffer.wrap(rendered), view.toString());
        }
    }

    @Test
    void aWaveformThatIsGoneIsStale() {
        filled();
        long ground = handle(bent(0.05));
        long open = waveform(ground, 0);
        assertEquals(Bridge.OK, caller.call(Caller.RENDER, strip(ground, 0, View.WAVEFORM, open, 0, 20)), caller.message());
        Memory drop = Caller.block(Blocks.DROP_BYTES);
        drop.setLong(Blocks.DROP_METER, open);
        caller.require(Caller.WAVEFORM_DROP, drop);
        assertEquals(Bridge.STALE, caller.call(Caller.RENDER, strip(ground, 0, View.WAVEFORM, open, 0, 20)));
        assertEquals(Bridge.STALE, caller.call(Caller.RENDER, strip(ground, 987_654_321, View.PICTURE, 0, 0, 20)));
    }

    @Test
    void oddPicturesAndViewsAreRefusedWithAMessage() {
        filled();
        long ground = handle(bent(0.05));
        Memory empty = strip(ground, ground, View.PICTURE, 0, 0, 20);
        empty.setDouble(Blocks.RENDER_LOOK + Blocks.LOOK_X1 + 16, 0);
        assertEquals(Bridge.INPUT, caller.call(Caller.RENDER, empty));
        assertTrue(caller.message().contains("is empty"), caller.message());
        Memory view = strip(ground, 0, View.PICTURE, 0, 0, 20);
        view.setLong(Blocks.RENDER_LOOK + Blocks.LOOK_VIEW, 17);
        assertEquals(Bridge.INPUT, caller.call(Caller.RENDER, view));
        assertTrue(caller.message().contains("view number 17"), caller.message());
        Memory mask = strip(ground, ground, View.PICTURE, 0, 0, 20);
        mask.setDouble(Blocks.RENDER_LOOK + Blocks.LOOK_HORIZON, Double.NaN);
        assertEquals(Bridge.INPUT, caller.call(Caller.RENDER, mask));
        assertTrue(caller.message().contains("horizon"), caller.message());
    }

    /** The choice of the parameter table is the engine's list of views, in its order. */
    @Test
    void theChoiceOfTheTableIsTheListOfViews() {
        var options = org.evenstop.engine.parameter.ParameterTable.named("view").options();
        assertEquals(View.values().length, options.size());
        for (View view : View.values()) {
            assertEquals(view.word(), options.get(view.ordinal()).name());
        }
    }
}
