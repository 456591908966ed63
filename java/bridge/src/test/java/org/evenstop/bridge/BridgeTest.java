// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.sun.jna.Memory;
import com.sun.jna.Pointer;
import java.nio.ByteBuffer;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.List;
import java.util.Random;
import org.evenstop.engine.InputException;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.parameter.Parameter;
import org.evenstop.engine.parameter.Parameter.Option;
import org.evenstop.engine.parameter.ParameterTable;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.evenstop.engine.solve.Solver;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.EnumSource;
import org.junit.jupiter.params.provider.ValueSource;

/** The entry points, called by their native addresses on native memory as the C shim does. */
class BridgeTest {
    private static final byte GUARD = 0x5a;

    private final Caller caller = new Caller();
    /** Native memory goes when its object is collected; blocks hold addresses only. */
    private final List<Object> kept = new ArrayList<>();

    private static Correction correction() {
        return new Correction(Curve.constant(1.1), Curve.fit(x -> 0.02 + 0.9 * x + 0.05 * x * x, 1e-4), Curve.constant(0.9),
            LumaStandard.BT709, CorrectionOrigin.none());
    }

    private Memory bytes(String text) {
        byte[] bytes = text.getBytes(StandardCharsets.UTF_8);
        Memory memory = new Memory(bytes.length + 1);
        memory.write(0, bytes, 0, bytes.length);
        memory.setByte(bytes.length, (byte) 0);
        kept.add(memory);
        return memory;
    }

    private int prepare(String text, Memory block) {
        Memory memory = bytes(text);
        block.setPointer(Blocks.PREPARE_TEXT, memory);
        block.setLong(Blocks.PREPARE_LENGTH, memory.size() - 1);
        return caller.call(Caller.PREPARE, block);
    }

    private long handleOf(Correction correction) {
        Memory block = Caller.block(Blocks.PREPARE_BYTES);
        assertEquals(Bridge.OK, prepare(EvenstopFiles.toJson(correction), block), caller.message());
        return block.getLong(Blocks.PREPARE_HANDLE);
    }

    /** A native picture with guard bytes all around and between its rows. */
    private static final class Picture {
        final Memory memory;
        final long first;
        final long stride;
        final int rowBytes;
        final int rows;

        Picture(int rowBytes, int rows, int padding, boolean upsideDown) {
            int step = rowBytes + padding;
            memory = new Memory((long) step * rows + 128);
            memory.setMemory(0, memory.size(), GUARD);
            this.rowBytes = rowBytes;
            this.rows = rows;
            stride = upsideDown ? -step : step;
            first = 64 + (upsideDown ? (long) step * (rows - 1) : 0);
        }

        long row(int y) {
            return first + y * stride;
        }

        long address() {
            return Pointer.nativeValue(memory) + first;
        }

        void requireGuards() {
            boolean[] ours = new boolean[(int) memory.size()];
            for (int y = 0; y < rows; y++) {
                java.util.Arrays.fill(ours, (int) row(y), (int) row(y) + rowBytes, true);
            }
            for (int i = 0; i < ours.length; i++) {
                assertTrue(ours[i] || memory.getByte(i) == GUARD, "byte " + i + " outside the picture was written");
            }
        }
    }

    private static void fill(PackedFrame frame, long seed) {
        Random random = new Random(seed);
        ByteBuffer memory = frame.memory();
        int samples = memory.capacity() / frame.depth().bytes();
        for (int i = 0; i < samples; i++) {
            float level = random.nextFloat() * 1.3f - 0.1f;
            switch (frame.depth()) {
                case BYTE -> memory.put(i, (byte) random.nextInt(256));
                case SHORT -> memory.putShort(2 * i, (short) random.nextInt(65536));
                case HALF -> memory.putShort(2 * i, (short) (0x3000 + random.nextInt(0x0c00)));
                case FLOAT -> memory.putFloat(4 * i, level);
            }
        }
    }

    private Memory renderBlock(long handle, Picture source, Picture destination, PackedFrame like, double strength) {
        kept.add(source);
        kept.add(destination);
        Memory block = Caller.block(Blocks.RENDER_BYTES);
        block.setLong(Blocks.RENDER_HANDLE, handle);
        block.setLong(Blocks.RENDER_SOURCE, source.address());
        block.setLong(Blocks.RENDER_SOURCE_STRIDE, source.stride);
        block.setLong(Blocks.RENDER_DESTINATION, destination.address());
        block.setLong(Blocks.RENDER_DESTINATION_STRIDE, destination.stride);
        block.setLong(Blocks.RENDER_WIDTH, like.width());
        block.setLong(Blocks.RENDER_ROWS, like.height());
        block.setLong(Blocks.RENDER_DEPTH, like.depth().ordinal());
        block.setLong(Blocks.RENDER_COMPONENTS, like.components().ordinal());
        block.setLong(Blocks.RENDER_ALPHA, like.alpha().ordinal());
        block.setDouble(Blocks.RENDER_STRENGTH, strength);
        return block;
    }

    @ParameterizedTest
    @CsvSource({
        "FLOAT,RGBA,OPAQUE,0,false,0,false,37,11", "FLOAT,RGBA,PREMULTIPLIED,24,true,0,false,37,11",
        "FLOAT,RGB,OPAQUE,4,true,8,true,5,3", "HALF,RGBA,UNPREMULTIPLIED,6,false,2,true,33,4",
        "SHORT,RGBA,UNPREMULTIPLIED,10,true,0,false,31,7", "SHORT,RGB,OPAQUE,1,true,3,false,9,2",
        "BYTE,RGBA,PREMULTIPLIED,5,true,7,true,19,6", "BYTE,RGB,OPAQUE,0,false,1,true,1,1", "FLOAT,RGBA,OPAQUE,0,true,0,true,1,1",
    })
    void rowsInNativeMemoryComeOutAsTheKernelMakesThem(SampleDepth depth, Components components, AlphaState alpha, int sourcePadding,
                                                       boolean sourceUpsideDown, int padding, boolean upsideDown, int width, int height) {
        PackedFrame input = PackedFrame.allocate(width, height, components, depth, alpha);
        fill(input, 17);
        PackedFrame expected = PackedFrame.allocate(width, height, components, depth, alpha);
        Correction read = EvenstopFiles.correctionFromJson(EvenstopFiles.toJson(correction()), "test");
        Kernels.chosen().apply(input, expected, 0, height, read, 0.75f);

        Picture source = new Picture(input.rowBytes(), height, sourcePadding, sourceUpsideDown);
        Picture destination = new Picture(input.rowBytes(), height, padding, upsideDown);
        byte[] row = new byte[input.rowBytes()];
        for (int y = 0; y < height; y++) {
            input.memory().get(input.rowOffset(y), row);
            source.memory.write(source.row(y), row, 0, row.length);
        }
        assertEquals(Bridge.OK, caller.call(Caller.RENDER, renderBlock(handleOf(correction()), source, destination, input, 0.75)), caller.message());

        byte[] wanted = new byte[row.length];
        for (int y = 0; y < height; y++) {
            destination.memory.read(destination.row(y), row, 0, row.length);
            expected.memory().get(expected.rowOffset(y), wanted);
            assertEquals(ByteBuffer.wrap(wanted), ByteBuffer.wrap(row), "row " + y);
        }
        source.requireGuards();
        destination.requireGuards();
    }

    @Test
    void sameTextGivesSameHandleAndIdentityIsTold() {
        String text = EvenstopFiles.toJson(correction());
        Memory first = Caller.block(Blocks.PREPARE_BYTES);
        Memory second = Caller.block(Blocks.PREPARE_BYTES);
        assertEquals(Bridge.OK, prepare(text, first));
        assertEquals(Bridge.OK, prepare(text, second));
        assertEquals(first.getLong(Blocks.PREPARE_HANDLE), second.getLong(Blocks.PREPARE_HANDLE));
        assertEquals(0, first.getLong(Blocks.PREPARE_IDENTITY));
        assertEquals(Bridge.OK, prepare(EvenstopFiles.toJson(Correction.identity(LumaStandard.BT709)), second));
        assertEquals(1, second.getLong(Blocks.PREPARE_IDENTITY));
    }

    /** What an entry point throws, of whatever kind, becomes a status and words. */
    @Test
    void whatIsThrownBecomesAStatus() {
        Memory noText = Caller.block(Blocks.PREPARE_BYTES);
        noText.setLong(Blocks.PREPARE_LENGTH, 10);
        assertEquals(Bridge.INPUT, caller.call(Caller.PREPARE, noText));
        assertTrue(caller.message().endsWith("Press Measure clip."), caller.message());
        Memory noWishes = solveBlock(measured(scene()), "cinema-soft", "even", "preset");
        noWishes.setPointer(Blocks.SOLVE_WISHES, null);
        assertEquals(Bridge.BROKEN, caller.call(Caller.SOLVE, noWishes));
        assertTrue(caller.message().startsWith("the Java side of Evenstop failed: java.lang.NullPointerException"), caller.message());
    }

    @Test
    void oldHandlesGoStaleAndTheirTextMayBePreparedAgain() {
        long old = handleOf(correction());
        for (int i = 0; i < Corrections.REMEMBERED; i++) {
            double factor = 0.5 + 0.001 * i;
            handleOf(new Correction(Curve.constant(1), Curve.identity(), Curve.constant(factor), LumaStandard.BT709, CorrectionOrigin.none()));
        }
        PackedFrame frame = PackedFrame.allocate(4, 2, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        Picture picture = new Picture(frame.rowBytes(), 2, 0, false);
        assertEquals(Bridge.STALE, caller.call(Caller.RENDER, renderBlock(old, picture, picture, frame, 1)));
        long fresh = handleOf(correction());
        assertNotEquals(old, fresh);
        assertEquals(Bridge.OK, caller.call(Caller.RENDER, renderBlock(fresh, picture, picture, frame, 1)), caller.message());
    }

    /** One clause about the text, one order, and none of the parser's own words. */
    private void requireOrder(String start) {
        String message = caller.message();
        assertTrue(message.startsWith(start + ": "), message);
        assertTrue(message.endsWith(". Press Measure clip."), message);
        assertFalse(message.contains("Source") || message.contains("REDACTED") || message.contains("`") || message.contains("Exception")
            || message.contains("java.") || message.contains("com.") || message.contains("\n") || message.contains(";"), message);
        assertTrue(message.length() < 200, message);
    }

    @ParameterizedTest
    @ValueSource(strings = {
        "", "{", "[]", "null", "7", "{\"kind\":\"measurement\",\"schema\":1}", "\u0000\u0001", "{\"kind\":\"correction\"", "{\"kind\":\"correction\",\"schema\":",
        "{\"kind\":\"correction\",\"kind\":\"correction\"}", "{\"kind\":\"correction\",\"schema\":1} x", "{\"kind\":NaN}", "{\"kind\":\"cor", "{\"kind\" \"x\"}",
        "{\"kind\":\"correction\",\"schema\":1,\"luma\":\"BT.709\",\"curves\":{}}", "{\"kind\":\"correction\",\"schema\":1e400}", "{\"kind\":\"\\q\"}",
        "[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[", "abc",
    })
    void brokenTextsAreRefusedWithOneOrder(String text) {
        assertEquals(Bridge.INPUT, prepare(text, Caller.block(Blocks.PREPARE_BYTES)), text);
        requireOrder("correction kept in the project");
        assertEquals(Bridge.INPUT, caller.call(Caller.SOLVE, solveBlock(text, "cinema-soft", "even", "preset")), text);
        requireOrder("measurement kept in the project");
    }

    @Test
    void aCorrectionCutAnywhereIsRefusedWithOneOrder() {
        String text = EvenstopFiles.toJson(correction()).strip();
        for (int length = 0; length < text.length(); length += 7) {
            assertEquals(Bridge.INPUT, prepare(text.substring(0, length), Caller.block(Blocks.PREPARE_BYTES)));
            requireOrder("correction kept in the project");
        }
    }

    @Test
    void aTextOfANewerSchemaAsksForANewerPlugIn() {
        assertEquals(Bridge.INPUT, prepare("{\"kind\":\"correction\",\"schema\":99}", Caller.block(Blocks.PREPARE_BYTES)));
        assertTrue(caller.message().contains("schema 99"), caller.message());
        assertTrue(caller.message().endsWith(". Update the plug-in, or press Measure clip."), caller.message());
    }

    @ParameterizedTest
    @CsvSource(delimiter = '|', value = {
        "kept: is not valid JSON at line 1, column 5: Unexpected end-of-input: expected close marker for Object (start marker at [Source: REDACTED; line: 1])"
            + "|is not valid JSON at line 1, column 5: Unexpected end-of-input: expected close marker for Object",
        "kept: stops 99 is above 20; give -20 to 20|stops 99 is above 20",
        "kept: Cannot construct instance of `org.evenstop.engine.curve.Curve`|it cannot be read",
        "org.evenstop.engine.curve.Curve failed|it cannot be read",
        "kept: a NumberFormatException came|it cannot be read",
        "kept: ;|it cannot be read",
        "curves.tone.from 3000 is too large. More words|curves.tone.from 3000 is too large",
    })
    void aMessageIsCutToItsFirstClause(String message, String clause) {
        assertEquals(clause, KeptText.clause(message, "kept"));
    }

    @Test
    void aClauseHasABoundAndDoesNotNeedAMessage() {
        assertEquals("it cannot be read", KeptText.clause(null, "kept"));
        String cut = KeptText.clause("a\ud83d\ude00".repeat(200), "kept");
        assertTrue(cut.length() <= 120 && cut.endsWith("..."), cut);
        assertFalse(Character.isHighSurrogate(cut.charAt(cut.length() - 4)), cut);
    }

    /** What a constructor refuses is as broken as what the parser refuses. */
    @Test
    void whatAConstructorRefusesIsABrokenTextToo() {
        InputException refused = assertThrows(InputException.class, () -> KeptText.read("text", "kept", (text, what) -> {
            throw new IllegalArgumentException("percentiles must rise");
        }));
        assertEquals("kept: percentiles must rise. Press Measure clip.", refused.getMessage());
    }

    @Test
    void textsThatAreNotUtf8AreRefused() {
        Memory text = new Memory(4);
        text.setInt(0, 0xfffefdfc);
        Memory block = Caller.block(Blocks.PREPARE_BYTES);
        block.setPointer(Blocks.PREPARE_TEXT, text);
        block.setLong(Blocks.PREPARE_LENGTH, 4);
        assertEquals(Bridge.INPUT, caller.call(Caller.PREPARE, block));
        assertTrue(caller.message().contains("UTF-8"), caller.message());
        requireOrder("correction kept in the project");
        block.setLong(Blocks.PREPARE_LENGTH, EvenstopFiles.LARGEST_FILE + 1);
        assertEquals(Bridge.INPUT, caller.call(Caller.PREPARE, block));
        assertTrue(caller.message().contains("4 MiB"), caller.message());
        requireOrder("correction kept in the project");
    }

    @Test
    void impossibleFramesAreRefusedWithAMessage() {
        PackedFrame frame = PackedFrame.allocate(4, 2, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        Picture picture = new Picture(frame.rowBytes(), 2, 0, false);
        long handle = handleOf(correction());
        Object[][] cases = {
            {Blocks.RENDER_DEPTH, 9L, "depth number 9"}, {Blocks.RENDER_COMPONENTS, -1L, "components number -1"}, {Blocks.RENDER_ALPHA, 3L, "alpha number 3"},
            {Blocks.RENDER_WIDTH, 0L, "0x2"}, {Blocks.RENDER_ROWS, -5L, "4x-5"}, {Blocks.RENDER_SOURCE, 0L, "address 0"},
            {Blocks.RENDER_ROWS, 1L << 30, "2 GiB"}, {Blocks.RENDER_SOURCE_STRIDE, 1L << 40, "2 GiB"},
        };
        for (Object[] wrong : cases) {
            Memory block = renderBlock(handle, picture, picture, frame, 1);
            block.setLong((Integer) wrong[0], (Long) wrong[1]);
            assertEquals(Bridge.INPUT, caller.call(Caller.RENDER, block), wrong[2].toString());
            assertTrue(caller.message().contains((String) wrong[2]), caller.message());
        }
        assertEquals(Bridge.INPUT, caller.call(Caller.RENDER, renderBlock(handle, picture, picture, frame, Double.NaN)));
        // A stride shorter than a row is the engine's to refuse: a failure, told all the same.
        Memory overlapping = renderBlock(handle, picture, picture, frame, 1);
        overlapping.setLong(Blocks.RENDER_SOURCE_STRIDE, 8);
        assertEquals(Bridge.BROKEN, caller.call(Caller.RENDER, overlapping));
        assertTrue(caller.message().contains("stride"), caller.message());
    }

    @Test
    void messagesAreCutToTheirPlace() {
        Memory place = new Memory(16);
        place.setMemory(0, 16, GUARD);
        Memory block = Caller.block(Blocks.PREPARE_BYTES);
        Memory struct = new Memory(Bridge.SIZE);
        struct.setInt(0, Bridge.MAGIC);
        struct.setInt(4, Bridge.VERSION);
        struct.setInt(8, Bridge.SIZE);
        assertEquals(Bridge.OK, Bridge.open(Pointer.nativeValue(struct)));
        block.setPointer(Blocks.MESSAGE, place);
        block.setLong(Blocks.MESSAGE_CAPACITY, 10);
        int status = com.sun.jna.Function.getFunction(struct.getPointer(Bridge.HEAD_BYTES)).invokeInt(new Object[] {Pointer.nativeValue(block)});
        assertEquals(Bridge.INPUT, status);
        assertEquals(9, place.getString(0).length());
        assertEquals(GUARD, place.getByte(10));
    }

    @Test
    void aStructOfAnotherVersionIsRefusedUntouched() {
        Memory struct = new Memory(Bridge.SIZE);
        for (int word = 0; word < 3; word++) {
            struct.clear();
            struct.setInt(0, word == 0 ? 1 : Bridge.MAGIC);
            struct.setInt(4, word == 1 ? Bridge.VERSION + 1 : Bridge.VERSION);
            struct.setInt(8, word == 2 ? 16 : Bridge.SIZE);
            assertEquals(Bridge.INPUT, Bridge.open(Pointer.nativeValue(struct)));
            assertEquals(0, struct.getLong(Bridge.HEAD_BYTES));
        }
    }

    private static PackedFrame scene() {
        PackedFrame frame = PackedFrame.allocate(80, 60, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        for (int y = 0; y < 60; y++) {
            for (int x = 0; x < 80; x++) {
                float level = 0.04f + (y < 20 ? 0.5f : 0.2f) * x / 80f;
                int at = frame.rowOffset(y) + 16 * x;
                frame.memory().putFloat(at, level * 1.1f).putFloat(at + 4, level).putFloat(at + 8, level * 0.85f).putFloat(at + 12, 1f);
            }
        }
        return frame;
    }

    private String measured(PackedFrame frame) {
        Picture picture = new Picture(frame.rowBytes(), frame.height(), 0, false);
        kept.add(picture);
        byte[] row = new byte[frame.rowBytes()];
        for (int y = 0; y < frame.height(); y++) {
            // The host's row 0 is the bottom.
            frame.memory().get(frame.rowOffset(frame.height() - 1 - y), row);
            picture.memory.write(picture.row(y), row, 0, row.length);
        }
        Memory begin = Caller.block(Blocks.BEGIN_BYTES);
        begin.setLong(Blocks.BEGIN_SAMPLE_SIZE, 8192);
        assertEquals(Bridge.OK, caller.call(Caller.MEASURE_BEGIN, begin), caller.message());
        for (int i = 0; i < 3; i++) {
            Memory add = Caller.block(Blocks.ADD_BYTES);
            add.setLong(Blocks.ADD_METER, begin.getLong(Blocks.BEGIN_METER));
            add.setLong(Blocks.ADD_FRAME, picture.address());
            add.setLong(Blocks.ADD_STRIDE, picture.stride);
            add.setLong(Blocks.ADD_WIDTH, frame.width());
            add.setLong(Blocks.ADD_ROWS, frame.height());
            add.setLong(Blocks.ADD_DEPTH, SampleDepth.FLOAT.ordinal());
            add.setDouble(Blocks.ADD_SECONDS, i / 25.0);
            assertEquals(Bridge.OK, caller.call(Caller.MEASURE_ADD, add), caller.message());
        }
        Memory end = Caller.block(Blocks.END_BYTES);
        end.setLong(Blocks.END_METER, begin.getLong(Blocks.BEGIN_METER));
        assertEquals(Bridge.OK, caller.call(Caller.MEASURE_END, end), caller.message());
        assertEquals(Bridge.STALE, caller.call(Caller.MEASURE_END, end), "a meter ends once");
        return given(end, Blocks.END_TEXT, Blocks.END_LENGTH);
    }

    private String given(Memory block, int address, int length) {
        Pointer text = block.getPointer(address);
        assertEquals(0, text.getByte(block.getLong(length)), "texts end in a zero");
        String content = new String(text.getByteArray(0, (int) block.getLong(length)), StandardCharsets.UTF_8);
        Memory free = Caller.block(Blocks.FREE_BYTES);
        free.setPointer(Blocks.FREE_TEXT, text);
        assertEquals(Bridge.OK, caller.call(Caller.FREE_TEXT, free));
        return content;
    }

    private Memory solveBlock(String measurement, String profile, String preset, String subject) {
        Memory text = bytes(measurement);
        Memory block = Caller.block(Blocks.SOLVE_BYTES);
        block.setPointer(Blocks.SOLVE_MEASUREMENT, text);
        block.setLong(Blocks.SOLVE_MEASUREMENT_LENGTH, text.size() - 1);
        wish(block, "profile=" + profile + "\npreset=" + preset + "\nsubject=" + subject + "\n");
        return block;
    }

    private void wish(Memory block, String wishes) {
        Memory text = bytes(wishes);
        block.setPointer(Blocks.SOLVE_WISHES, text);
        block.setLong(Blocks.SOLVE_WISHES_LENGTH, text.size() - 1);
    }

    static String number(String name, double value) {
        return name + "#" + Long.toHexString(Double.doubleToRawLongBits(value)) + "\n";
    }

    @Test
    void measuringUpsideDownMemoryAndSolvingGivesWhatTheEngineGives() {
        PackedFrame frame = scene();
        ClipMeter meter = new ClipMeter(LumaStandard.BT709, 8192);
        for (int i = 0; i < 3; i++) {
            meter.add(frame, i / 25.0);
        }
        String expected = EvenstopFiles.toJson(meter.finish("Source"), true);
        String text = measured(frame);
        assertEquals(expected, text);

        Memory block = solveBlock(text, "cinema-soft", "even", "preset");
        assertEquals(Bridge.OK, caller.call(Caller.SOLVE, block), caller.message());
        String correction = given(block, Blocks.SOLVE_CORRECTION, Blocks.SOLVE_CORRECTION_LENGTH);
        String found = given(block, Blocks.SOLVE_FOUND, Blocks.SOLVE_FOUND_LENGTH);
        Measurement read = EvenstopFiles.measurementFromJson(text, "test");
        Correction direct = Solver.solve(read, EvenstopFiles.profile("cinema-soft"), EvenstopFiles.preset("even"));
        assertEquals(EvenstopFiles.toJson(direct), correction);
        assertTrue(found.contains("highlights") && found.contains("%"), found);
        assertTrue(found.length() < 200, found);
    }

    @Test
    void exposureTrimAddsToTheExposure() {
        String text = measured(scene());
        double[] stops = new double[2];
        for (int i = 0; i < 2; i++) {
            Memory block = solveBlock(text, "cinema-soft", "even", "landscape");
            wish(block, "subject=landscape\n" + number("exposureTrim", i * 0.5));
            assertEquals(Bridge.OK, caller.call(Caller.SOLVE, block), caller.message());
            stops[i] = EvenstopFiles.correctionFromJson(given(block, Blocks.SOLVE_CORRECTION, Blocks.SOLVE_CORRECTION_LENGTH), "test").origin().stops();
            given(block, Blocks.SOLVE_FOUND, Blocks.SOLVE_FOUND_LENGTH);
            assertEquals("", given(block, Blocks.SOLVE_SKY, Blocks.SOLVE_SKY_LENGTH), "no sky unless it is asked for");
        }
        assertTrue(stops[1] > stops[0], stops[0] + " then " + stops[1]);
    }

    @Test
    void solvingFromNonsenseIsRefusedWithAMessage() {
        assertEquals(Bridge.INPUT, caller.call(Caller.SOLVE, solveBlock("{", "cinema-soft", "even", "preset")));
        assertTrue(caller.message().startsWith("measurement kept in the project:"), caller.message());
        String text = measured(scene());
        assertEquals(Bridge.INPUT, caller.call(Caller.SOLVE, solveBlock(text, "cinema-sofa", "even", "preset")));
        assertTrue(caller.message().contains("cinema-soft"), caller.message());
        String withoutSample = EvenstopFiles.toJson(EvenstopFiles.measurementFromJson(text, "test"), false);
        assertEquals(Bridge.INPUT, caller.call(Caller.SOLVE, solveBlock(withoutSample, "cinema-soft", "even", "preset")));
        assertTrue(caller.message().contains("no sample"), caller.message());
        requireOrder("measurement kept in the project");
    }

    @Test
    void nothingMeasuredIsRefusedWithAMessage() {
        Memory begin = Caller.block(Blocks.BEGIN_BYTES);
        assertEquals(Bridge.INPUT, caller.call(Caller.MEASURE_BEGIN, begin), "a sample of no pixels");
        begin.setLong(Blocks.BEGIN_SAMPLE_SIZE, 8192);
        assertEquals(Bridge.OK, caller.call(Caller.MEASURE_BEGIN, begin));
        Memory end = Caller.block(Blocks.END_BYTES);
        end.setLong(Blocks.END_METER, begin.getLong(Blocks.BEGIN_METER));
        assertEquals(Bridge.INPUT, caller.call(Caller.MEASURE_END, end));
        assertFalse(caller.message().isEmpty());
        Memory drop = Caller.block(Blocks.DROP_BYTES);
        drop.setLong(Blocks.DROP_METER, 123_456_789);
        assertEquals(Bridge.OK, caller.call(Caller.MEASURE_DROP, drop), "dropping an unknown meter does nothing");
    }

    @ParameterizedTest
    @EnumSource(Wish.class)
    void everyChoiceOfTheTableIsKnownToTheEngine(Wish wish) {
        for (Option option : ParameterTable.named(wish.name()).options()) {
            if (option.name().equals(ParameterTable.FROM_FILE)) {
                continue;
            }
            switch (wish) {
                case profile -> assertEquals(option.name(), EvenstopFiles.profile(option.name()).name());
                case preset -> assertEquals(option.name(), EvenstopFiles.preset(option.name()).name());
                case subject -> assertEquals("even", wishes("subject=" + option.name() + "\n").preset().name());
            }
        }
        assertTrue(names("profile").containsAll(EvenstopFiles.profileNames()) && names("profile").size() == EvenstopFiles.profileNames().size() + 1);
        assertTrue(names("preset").containsAll(EvenstopFiles.presetNames()) && names("preset").size() == EvenstopFiles.presetNames().size() + 1);
    }

    private static List<String> names(String choice) {
        return ParameterTable.named(choice).options().stream().map(Option::name).toList();
    }

    private static Wishes wishes(String text) {
        return Wishes.of(text.getBytes(StandardCharsets.UTF_8));
    }

    /** Choices whose options are names of the engine. */
    enum Wish { profile, preset, subject }

    @Test
    void extremeTrimsStayWithinWhatAPresetAllows() {
        for (Option preset : ParameterTable.named("preset").options()) {
            for (int sign = -1; sign <= 1; sign += 2) {
                if (preset.name().equals(ParameterTable.FROM_FILE)) {
                    continue;
                }
                StringBuilder text = new StringBuilder("preset=" + preset.name() + "\n");
                for (Parameter p : ParameterTable.ALL) {
                    if (p.solves() && p.type() == Parameter.Type.DOUBLE) {
                        text.append(number(p.name(), sign * 1e6));
                    }
                }
                var extreme = wishes(text.toString());
                assertTrue(extreme.preset().shadowLevel() < extreme.preset().highlightLevel(), preset.name());
                assertTrue(extreme.skyPreset().shadowLevel() < extreme.skyPreset().highlightLevel(), preset.name());
            }
        }
    }
}
