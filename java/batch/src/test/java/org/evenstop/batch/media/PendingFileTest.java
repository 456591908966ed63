// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.stream.Stream;
import org.evenstop.engine.InputException;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** Files that appear whole or not at all. */
class PendingFileTest {
    @TempDir
    Path folder;

    private List<String> names() throws IOException {
        try (Stream<Path> files = Files.list(folder)) {
            return files.map(p -> p.getFileName().toString()).sorted().toList();
        }
    }

    @Test
    void theNameAppearsWithTheWholeContent() throws IOException {
        Path target = folder.resolve("a.txt");
        try (PendingFile file = new PendingFile(target, false)) {
            Files.writeString(file.path(), "whole");
            assertTrue(Files.notExists(target));
            file.commit();
        }
        assertEquals("whole", Files.readString(target));
        assertEquals(List.of("a.txt"), names());
    }

    @Test
    void aFileThatCameMeanwhileIsNotReplaced() throws IOException {
        Path target = folder.resolve("a.txt");
        try (PendingFile file = new PendingFile(target, false)) {
            Files.writeString(file.path(), "ours");
            Files.writeString(target, "theirs");
            InputException refused = assertThrows(InputException.class, file::commit);
            assertTrue(refused.getMessage().contains("--overwrite"), refused.getMessage());
        }
        assertEquals("theirs", Files.readString(target));
        PendingFile.writeText(target, "asked for", true);
        assertEquals("asked for", Files.readString(target));
        assertEquals(List.of("a.txt"), names());
    }

    @Test
    void theEndOfTheProcessRemovesWhatIsNotFinished() throws IOException, InterruptedException {
        // System.exit runs what Ctrl-C runs.
        Process child = new ProcessBuilder(Path.of(System.getProperty("java.home"), "bin", "java").toString(), "-cp",
            System.getProperty("java.class.path"), ExitsHalfway.class.getName(), folder.resolve("b.txt").toString())
            .redirectErrorStream(true).start();
        String said = new String(child.getInputStream().readAllBytes(), java.nio.charset.StandardCharsets.UTF_8);
        assertEquals(7, child.waitFor(), said);
        assertTrue(said.contains(".b.txt.part-"), said);
        assertEquals(List.of(), names());
    }

    @Test
    void whatAKilledRunLeftUnderThisNameGoes() throws IOException, InterruptedException {
        Process ended = new ProcessBuilder(Path.of(System.getProperty("java.home"), "bin", "java").toString(), "-version")
            .redirectErrorStream(true).start();
        ended.getInputStream().readAllBytes();
        ended.waitFor();
        // The parent of this process lives as long as the test.
        long living = ProcessHandle.current().parent().map(ProcessHandle::pid).orElse(1L);
        Files.writeString(folder.resolve(".a.txt.part-" + ended.pid()), "left over");
        List<String> others = List.of(".a.txt.part-" + living, ".a.txt.part-", ".a.txt.part-x" + ended.pid(), ".a.txt.part-0" + ended.pid(),
            ".b.txt.part-" + ended.pid(), "a.txt.part-" + ended.pid(), ".a.txt.part-" + ended.pid() + ".old");
        for (String other : others) {
            Files.writeString(folder.resolve(other), "not ours to remove");
        }
        PendingFile.writeText(folder.resolve("a.txt"), "whole", false);
        List<String> expected = new ArrayList<>(others);
        expected.add("a.txt");
        assertEquals(expected.stream().sorted().toList(), names());
    }

    /** A process that ends in the middle of writing. */
    public static final class ExitsHalfway {
        private ExitsHalfway() {
        }

        public static void main(String[] args) throws IOException {
            PendingFile file = new PendingFile(Path.of(args[0]), false);
            Files.writeString(file.path(), "half");
            System.out.println(Files.exists(file.path()) ? file.path() : "no file");
            System.exit(7);
        }
    }
}
