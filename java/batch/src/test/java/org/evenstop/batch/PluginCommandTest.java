// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import static org.evenstop.batch.Answer.evenstop;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.File;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.LinkOption;
import java.nio.file.Path;
import java.nio.file.attribute.PosixFilePermissions;
import java.util.List;
import java.util.stream.Stream;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** The plug-in's way to where hosts look, and back: whole or not at all, and nothing touched that is not ours. */
class PluginCommandTest {
    private static final String BUNDLE = "Evenstop.ofx.bundle";
    private static final String BINARY = "Contents/Linux-x86-64/Evenstop.ofx";

    @TempDir
    private Path folder;
    private Path to;
    private Path source;
    private String kept;

    @BeforeEach
    void makeBundle() throws IOException {
        kept = System.getProperty("evenstop.home");
        to = folder.resolve("plugins");
        source = folder.resolve("home/build").resolve(BUNDLE).resolve(BINARY);
        Files.createDirectories(source.getParent());
        Files.writeString(source, "first");
        System.setProperty("evenstop.home", folder.resolve("home").toString());
    }

    @AfterEach
    void restore() {
        if (kept == null) {
            System.clearProperty("evenstop.home");
        } else {
            System.setProperty("evenstop.home", kept);
        }
    }

    private static List<String> names(Path in) throws IOException {
        try (Stream<Path> files = Files.list(in)) {
            return files.map(f -> f.getFileName().toString()).sorted().toList();
        }
    }

    /** One line on the error stream that says what is wrong and names `about`. */
    private static void refused(Answer answer, String about) {
        assertEquals(2, answer.code(), answer.err());
        assertEquals("", answer.out());
        assertEquals(1, answer.err().strip().lines().count(), answer.err());
        assertTrue(answer.err().contains(about) && !answer.err().contains("Exception"), answer.err());
    }

    @Test
    void aNewerBundleTakesThePlaceOfTheOlderOne() throws IOException {
        Answer first = evenstop("plugin", "install", "--to", to);
        assertEquals(0, first.code(), first.err());
        assertTrue(first.out().contains("OFX_PLUGIN_PATH names " + to), first.out());
        Files.writeString(to.resolve(BUNDLE).resolve("Contents/only-in-the-old-one"), "x");
        Files.writeString(source, "second");
        Answer again = evenstop("plugin", "install", "--to", to);
        assertEquals(0, again.code(), again.err());
        assertTrue(again.out().contains("in place of an older one"), again.out());
        assertEquals(List.of(BUNDLE), names(to));
        assertEquals("second", Files.readString(to.resolve(BUNDLE).resolve(BINARY)));
        assertFalse(Files.exists(to.resolve(BUNDLE).resolve("Contents/only-in-the-old-one")));
    }

    @Test
    void uninstallTakesAwayTheBundleAndNothingElse() throws IOException {
        Files.createDirectories(to);
        Files.writeString(to.resolve("neighbour"), "x");
        evenstop("plugin", "install", "--to", to);
        Answer removed = evenstop("plugin", "uninstall", "--to", to);
        assertEquals(0, removed.code(), removed.err());
        assertEquals(List.of("neighbour"), names(to));
        refused(evenstop("plugin", "uninstall", "--to", to), "nothing was removed");
    }

    @Test
    void machinesAreToldTheSame() throws IOException {
        ObjectMapper json = new ObjectMapper();
        JsonNode first = json.readTree(evenstop("plugin", "install", "--to", to, "--json").out());
        assertEquals("install", first.path("action").asText());
        assertEquals(to.resolve(BUNDLE).toString(), first.path("bundle").asText());
        assertFalse(first.path("replaced").asBoolean(true));
        assertFalse(first.path("searchedByHosts").asBoolean(true));
        assertTrue(json.readTree(evenstop("plugin", "install", "--to", to, "--json").out()).path("replaced").asBoolean());
        JsonNode last = json.readTree(evenstop("plugin", "uninstall", "--to", to, "--json").out());
        assertEquals("uninstall", last.path("action").asText());
        assertFalse(last.has("replaced"));
    }

    @Test
    void whatIsNotOursStays() throws IOException {
        Path there = to.resolve(BUNDLE);
        Files.createDirectories(there.resolve("Contents/Linux-x86-64"));
        Files.writeString(there.resolve("Contents/Linux-x86-64/Other.ofx"), "other");
        refused(evenstop("plugin", "install", "--to", to), "is not a bundle of Evenstop");
        refused(evenstop("plugin", "uninstall", "--to", to), "is not a bundle of Evenstop");
        assertEquals("other", Files.readString(there.resolve("Contents/Linux-x86-64/Other.ofx")));
        Path linked = folder.resolve("linked");
        Files.createDirectories(linked);
        Files.createSymbolicLink(linked.resolve(BUNDLE), source.getParent().getParent().getParent());
        refused(evenstop("plugin", "install", "--to", linked), "is a link");
        refused(evenstop("plugin", "uninstall", "--to", linked), "is a link");
        assertTrue(Files.isSymbolicLink(linked.resolve(BUNDLE)));
        assertEquals("first", Files.readString(source));
        Path file = folder.resolve("file");
        Files.writeString(file, "x");
        refused(evenstop("plugin", "install", "--to", file), "is a file, not a folder");
        refused(evenstop("plugin", "install", "--to", file.resolve("below")), "below");
        refused(evenstop("plugin", "install", "--to", to, "--user"), "--user");
    }

    @Test
    void aFailureLeavesTheOlderOne() throws IOException {
        evenstop("plugin", "install", "--to", to);
        Files.delete(source);
        Files.createSymbolicLink(source, Path.of("nowhere"));
        Path unreadable = source.resolveSibling("unreadable");
        Files.writeString(unreadable, "x");
        Files.setPosixFilePermissions(unreadable, PosixFilePermissions.fromString("---------"));
        assumeTrue(!Files.isReadable(unreadable), "run by root, who may read everything");
        refused(evenstop("plugin", "install", "--to", to), "cannot be copied there");
        assertEquals(List.of(BUNDLE), names(to));
        assertEquals("first", Files.readString(to.resolve(BUNDLE).resolve(BINARY)));
    }

    @Test
    void aFolderNobodyMayWriteToIsNamed() throws IOException {
        Path locked = Files.createDirectories(folder.resolve("locked"));
        Files.setPosixFilePermissions(locked, PosixFilePermissions.fromString("r-xr-xr-x"));
        try {
            assumeTrue(!Files.isWritable(locked), "run by root, who may write everywhere");
            refused(evenstop("plugin", "install", "--to", locked), "permission denied");
        } finally {
            Files.setPosixFilePermissions(locked, PosixFilePermissions.fromString("rwxr-xr-x"));
        }
    }

    @Test
    void whatAnEndedRunLeftIsTakenAway() throws IOException {
        long gone = 999_999_999L; // above the largest process number of Linux
        Path left = to.resolve("." + BUNDLE + ".part-" + gone + "/Contents");
        Files.createDirectories(left);
        assertEquals(0, evenstop("plugin", "install", "--to", to).code());
        assertEquals(List.of(BUNDLE), names(to));
    }

    @Test
    void placesAreThoseOfTheStandard() {
        Path system = PluginFolder.ofSystem();
        Path home = Path.of("/home/someone");
        assertTrue(system.endsWith("OFX/Plugins"));
        assertEquals(system, PluginFolder.usual(null));
        assertEquals(system, PluginFolder.usual(" "));
        assertEquals(Path.of("/a"), PluginFolder.usual("/a" + File.pathSeparator + "/b"));
        assertEquals(Path.of("/a"), PluginFolder.usual(";/a;/b"));
        assertEquals(home.resolve("OFX/Plugins"), PluginFolder.ofUser(null, home));
        assertEquals(home.resolve("mine"), PluginFolder.ofUser("/a;/home/someone/mine;/b", home));
        assertTrue(new PluginFolder(Path.of("/b/../a")).isSearched("/c;/a"));
        assertTrue(new PluginFolder(system).isSearched(null));
        assertFalse(new PluginFolder(home).isSearched("/a"));
    }

    @Test
    void theHostIsMissingWhereNothingWasBuilt() {
        refused(evenstop("plugin", "probe"), "not built");
        System.setProperty("evenstop.home", folder.resolve("elsewhere").toString());
        refused(evenstop("plugin", "install", "--to", to), "not built");
    }

    /** The bundle stands alone: installed elsewhere, with the tree's own out of reach by its path, it measures and renders. */
    @Test
    void theInstalledBundleNeedsNothingOfTheTree() throws IOException, InterruptedException {
        Path tree = kept == null ? Path.of("../..").toAbsolutePath().normalize() : Path.of(kept);
        Path host = tree.resolve("build/bin/ofxhost");
        assumeTrue(Files.isExecutable(host) && Files.isDirectory(tree.resolve("build").resolve(BUNDLE)), "the plug-in is not built: ./evenstop --version builds it");
        System.setProperty("evenstop.home", tree.toString());
        Answer installed = evenstop("plugin", "install", "--to", to);
        assertEquals(0, installed.code(), installed.err());
        try (Stream<Path> all = Files.walk(to)) {
            for (Path one : all.filter(Files::isSymbolicLink).toList()) {
                Path target = one.getParent().resolve(Files.readSymbolicLink(one)).normalize();
                assertTrue(target.startsWith(to) && Files.exists(target, LinkOption.NOFOLLOW_LINKS), one + " leads to " + target);
            }
        }
        Path state = folder.resolve("state.json");
        ProcessBuilder builder = new ProcessBuilder(host.toString(), "render", to.resolve(BUNDLE).toString(), "--in", "pattern:gradient", "--size", "64x48",
            "--frames", "0-2", "--press", "measureClip", "--quiet", "--state-out", state.toString());
        builder.directory(folder.toFile()).redirectErrorStream(true).redirectOutput(folder.resolve("log").toFile());
        builder.environment().remove("JAVA_HOME");
        builder.environment().remove("EVENSTOP_JAVA_HOME");
        int code = builder.start().waitFor();
        assertEquals(0, code, Files.readString(folder.resolve("log")));
        JsonNode said = new ObjectMapper().readTree(state.toFile());
        assertEquals(3, said.path("frames").path("rendered").asInt());
        assertTrue(said.path("params").path("correction").asText().contains("curves"));
    }
}
