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

    /**
     * What projects hold of each parameter: name, kind, default, range, options in their order, in the order of the table.
     * Lines are only ever added, options only at the end of theirs. Written anew with -Devenstop.regenerate=true.
     */
    @Test
    void whatProjectsKeepIsPinned() throws IOException {
        StringBuilder out = new StringBuilder("# SPDX-License-Identifier: Apache-2.0\n# Parameters as projects keep them; see ParameterFilesTest.\n");
        for (Parameter p : ParameterTable.ALL) {
            if (p.type() == Parameter.Type.GROUP || p.type() == Parameter.Type.BUTTON) {
                out.append(p.name()).append(' ').append(p.type()).append('\n');
                continue;
            }
            out.append(p.name()).append(' ').append(p.type()).append(" default=").append(p.text().isEmpty() ? p.number() : p.text());
            if (p.type() == Parameter.Type.DOUBLE) {
                out.append(" range=").append(p.min()).append("..").append(p.max());
            }
            for (Parameter.Option option : p.options()) {
                out.append(' ').append(option.name());
            }
            out.append(p.animates() ? " over-time" : "").append(p.secret() ? " hidden" : "").append('\n');
        }
        matches("java/bridge/src/test/resources/parameters-pinned.txt", out.toString());
    }

    /** The parameters of the first plug-in, in projects of which there may be some: nothing of them may change. */
    @Test
    void whatTheFirstProjectsHoldIsStillThere() {
        assertEquals("[cinema-soft, rec709-knee, srgb-screen]", options("profile", 3));
        assertEquals("[even, face, landscape, lowLight, airy, tuck]", options("preset", 6));
        assertEquals("[preset, auto, face, landscape, lowLight]", options("subject", 5));
        for (String name : new String[] {"strength", "exposureTrim", "chromaBalance", "shadowTrim", "highlightTrim"}) {
            assertEquals(Parameter.Type.DOUBLE, ParameterTable.named(name).type(), name);
            assertEquals(name.equals("strength") || name.equals("chromaBalance") ? 1 : 0, ParameterTable.named(name).number(), name);
        }
        for (String name : new String[] {"measurement", "correction", "stateVersion"}) {
            assertEquals(Parameter.Type.STRING, ParameterTable.named(name).type(), name);
            assertTrue(ParameterTable.named(name).secret(), name);
        }
    }

    private static String options(String choice, int first) {
        return ParameterTable.named(choice).options().stream().limit(first).map(Parameter.Option::name).toList().toString();
    }

    @Test
    void everyControlSaysItsUnitAndEffect() {
        for (Parameter p : ParameterTable.ALL) {
            if (p.type() == Parameter.Type.DOUBLE) {
                String said = p.hint().toLowerCase(java.util.Locale.ROOT);
                String unit = p.unit().equals("factor") || p.unit().equals("share") ? p.unit() : p.unit().substring(0, p.unit().length() - 1);
                assertTrue(said.contains(unit), p.name() + " does not name its unit " + p.unit() + ": " + p.hint());
            }
            assertTrue(p.type() == Parameter.Type.GROUP || p.hint().endsWith("."), p.name() + ": a hint is a sentence");
        }
    }
}
