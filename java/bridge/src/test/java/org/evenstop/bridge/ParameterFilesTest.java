// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.HashSet;
import java.util.Set;
import org.evenstop.engine.parameter.Parameter;
import org.evenstop.engine.parameter.ParameterTable;
import org.junit.jupiter.api.Test;

/** The files made from the parameter table are what the table says. With -Devenstop.regenerate=true they are written first. */
class ParameterFilesTest {
    /** Surefire runs in java/bridge; the tree begins two folders up. */
    private static final Path TREE = Path.of("").toAbsolutePath().getParent().getParent();

    @Test
    void cHeaderMatches() throws IOException {
        matches("native/bridge/parameters.h", ParameterFiles.header());
    }

    @Test
    void cTableMatches() throws IOException {
        matches("native/bridge/parameters.c", ParameterFiles.table());
    }

    @Test
    void documentMatches() throws IOException {
        matches("docs/parameters.md", ParameterFiles.document());
    }

    private static void matches(String name, String expected) throws IOException {
        Path file = TREE.resolve(name);
        if (Boolean.getBoolean("evenstop.regenerate")) {
            Files.createDirectories(file.getParent());
            Files.writeString(file, expected, StandardCharsets.UTF_8);
        }
        assertTrue(Files.isRegularFile(file), name + " is missing; write it with -Devenstop.regenerate=true");
        assertEquals(expected, Files.readString(file, StandardCharsets.UTF_8),
            name + " differs from the parameter table; write it anew with -Devenstop.regenerate=true");
    }

    @Test
    void namesAreUniqueAndParentsExist() {
        Set<String> seen = new HashSet<>();
        for (Parameter parameter : ParameterTable.ALL) {
            assertTrue(seen.add(parameter.name()), parameter.name() + " stands twice in the table");
            if (!parameter.parent().isEmpty()) {
                assertTrue(seen.contains(parameter.parent()), parameter.name() + " stands before its group " + parameter.parent());
                assertEquals(Parameter.Type.GROUP, ParameterTable.named(parameter.parent()).type());
            }
        }
    }

    @Test
    void everyTextIsAscii() {
        for (Parameter parameter : ParameterTable.ALL) {
            String texts = parameter.label() + parameter.hint() + parameter.text() + parameter.options();
            assertTrue(texts.chars().allMatch(c -> c >= 32 && c < 127), parameter.name() + " holds a character beyond ASCII");
        }
    }
}
