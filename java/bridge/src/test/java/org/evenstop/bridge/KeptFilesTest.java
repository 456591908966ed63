// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.sun.jna.Memory;
import com.sun.jna.Pointer;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Preset;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** Files that the user loads and saves: whole or not at all, and never over somebody else's. */
class KeptFilesTest {
    private static final int LOAD_PRESET = 0;
    private static final int LOAD_PROFILE = 1;
    private static final int LOAD_CORRECTION = 2;
    private static final int SAVE_PRESET = 3;
    private static final int SAVE_PROFILE = 4;
    private static final int SAVE_CORRECTION = 5;

    private final Caller caller = new Caller();
    private String content;
    private String found;

    @TempDir
    private Path folder;

    private int call(int operation, String path, String text) {
        byte[] name = path.getBytes(StandardCharsets.UTF_8);
        byte[] bytes = text.getBytes(StandardCharsets.UTF_8);
        Memory names = new Memory(name.length + 1L);
        names.write(0, name, 0, name.length);
        names.setByte(name.length, (byte) 0);
        Memory texts = new Memory(bytes.length + 1L);
        texts.write(0, bytes, 0, bytes.length);
        Memory block = Caller.block(Blocks.FILE_BYTES);
        block.setLong(Blocks.FILE_OPERATION, operation);
        block.setPointer(Blocks.FILE_PATH, names);
        block.setPointer(Blocks.FILE_TEXT, texts);
        block.setLong(Blocks.FILE_LENGTH, bytes.length);
        int status = caller.call(Caller.FILE, block);
        content = status == Bridge.OK ? given(block, Blocks.FILE_CONTENT, Blocks.FILE_CONTENT_LENGTH) : null;
        found = status == Bridge.OK ? given(block, Blocks.FILE_FOUND, Blocks.FILE_FOUND_LENGTH) : null;
        return status;
    }

    private String given(Memory block, int address, int length) {
        Pointer text = block.getPointer(address);
        String value = new String(text.getByteArray(0, (int) block.getLong(length)), StandardCharsets.UTF_8);
        Memory free = Caller.block(Blocks.FREE_BYTES);
        free.setPointer(Blocks.FREE_TEXT, text);
        caller.require(Caller.FREE_TEXT, free);
        return value;
    }

    private int files() throws IOException {
        try (var list = Files.list(folder)) {
            return (int) list.count();
        }
    }

    @Test
    void aSavedAimHoldsTheControlsAndComesBack() throws IOException {
        String path = folder.resolve("my evening look.json").toString();
        String wishes = "preset=airy\nsubject=face\n" + BridgeTest.number("exposureTrim", 0.5) + BridgeTest.number("darkChroma", 0.8);
        assertEquals(Bridge.OK, call(SAVE_PRESET, path, wishes), caller.message());
        assertEquals(content, Files.readString(Path.of(path)));
        Preset saved = EvenstopFiles.presetFromJson(content, "test");
        assertEquals("my-evening-look", saved.name());
        assertEquals("face", saved.subject().word());
        assertEquals(0.8, saved.chromaTrim().dark());
        assertEquals(Bridge.OK, call(LOAD_PRESET, path, ""), caller.message());
        assertEquals(EvenstopFiles.toJson(saved), content);
        Preset again = Wishes.of(("preset=file\npresetText:" + content.getBytes(StandardCharsets.UTF_8).length + "\n" + content + "\n")
            .getBytes(StandardCharsets.UTF_8)).preset();
        assertEquals(saved, again);
        assertEquals(Bridge.OK, call(SAVE_PRESET, path, "preset=even\n"), "a file of the same kind is replaced");
        assertEquals(1, files());
    }

    @Test
    void profilesAndCorrectionsComeBackToo() throws IOException {
        String profile = folder.resolve("p.json").toString();
        assertEquals(Bridge.OK, call(SAVE_PROFILE, profile, "profile=rec709-knee\n"), caller.message());
        assertEquals(EvenstopFiles.toJson(EvenstopFiles.profile("rec709-knee")), Files.readString(Path.of(profile)));
        assertEquals(Bridge.OK, call(LOAD_PROFILE, profile, ""), caller.message());
        String correction = folder.resolve("c.JSON").toString();
        String identity = EvenstopFiles.toJson(Correction.identity(LumaStandard.BT709));
        assertEquals(Bridge.OK, call(SAVE_CORRECTION, correction, identity), caller.message());
        assertEquals(Bridge.OK, call(LOAD_CORRECTION, correction, ""), caller.message());
        assertEquals(identity, content);
        assertTrue(found.startsWith("loaded from c.JSON"), found);
    }

    @Test
    void whatCannotBeIsToldAndNothingIsWritten() throws IOException {
        String[][] refused = {
            {"3", "", "no file is named"}, {"3", "look.json", "full path"}, {"3", folder.resolve("look.txt").toString(), "ends in .json"},
            {"3", folder.resolve("none/look.json").toString(), "no such folder"}, {"0", folder.resolve("look.json").toString(), "no such file"},
            {"5", folder.resolve("look.json").toString(), "no correction to save"}, {"0", folder.toString() + ".json", "no such file"},
        };
        for (String[] wrong : refused) {
            assertEquals(Bridge.INPUT, call(Integer.parseInt(wrong[0]), wrong[1], ""), wrong[2]);
            assertTrue(caller.message().contains(wrong[2]), caller.message());
        }
        assertEquals(0, files());
        Path other = folder.resolve("other.json");
        Files.writeString(other, "{\"mine\": true}");
        for (int operation : new int[] {SAVE_PRESET, SAVE_PROFILE}) {
            assertEquals(Bridge.INPUT, call(operation, other.toString(), ""));
            assertTrue(caller.message().contains("was not replaced"), caller.message());
        }
        for (int operation : new int[] {LOAD_PRESET, LOAD_PROFILE, LOAD_CORRECTION}) {
            assertEquals(Bridge.INPUT, call(operation, other.toString(), ""));
            assertTrue(caller.message().contains("kind"), caller.message());
        }
        assertEquals("{\"mine\": true}", Files.readString(other));
        assertEquals(1, files());
    }

    @Test
    void anAimThatWasNeverLoadedIsTold() {
        assertEquals(Bridge.INPUT, call(SAVE_PRESET, folder.resolve("a.json").toString(), "preset=file\n"));
        assertTrue(caller.message().contains("press Load aim"), caller.message());
        assertEquals(Bridge.INPUT, call(SAVE_PROFILE, folder.resolve("a.json").toString(), "profile=file\n"));
        assertTrue(caller.message().contains("press Load profile"), caller.message());
    }
}
