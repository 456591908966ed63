// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import java.io.File;
import java.io.IOException;
import java.nio.channels.FileChannel;
import java.nio.file.FileVisitResult;
import java.nio.file.Files;
import java.nio.file.LinkOption;
import java.nio.file.Path;
import java.nio.file.SimpleFileVisitor;
import java.nio.file.StandardCopyOption;
import java.nio.file.StandardOpenOption;
import java.nio.file.attribute.BasicFileAttributes;
import java.util.ArrayList;
import java.util.List;
import java.util.Objects;
import java.util.stream.Stream;
import org.evenstop.engine.InputException;

/**
 * A folder in which OpenFX hosts look for bundles, and our bundle in it. A bundle is there whole or not at all: a new one is copied
 * beside its place under a hidden name, brought to the disk, and renamed; an old one is renamed away before it is deleted.
 *
 * <p>Where hosts look (OpenFX 1.5, packaging chapter): the folders of {@code OFX_PLUGIN_PATH}, then one folder of the system. The
 * standard names none of the user's own; {@code OFX/Plugins} in the home folder is our choice and needs {@code OFX_PLUGIN_PATH}.
 */
final class PluginFolder {
    static final String BUNDLE = "Evenstop.ofx.bundle";
    private static final String PART = "." + BUNDLE + ".part-";
    private static final String OLD = "." + BUNDLE + ".old-";

    private final Path folder;

    PluginFolder(Path folder) {
        this.folder = Objects.requireNonNull(folder);
    }

    /** The folder of the system. */
    static Path ofSystem() {
        return System.getProperty("os.name", "").startsWith("Mac") ? Path.of("/Library/OFX/Plugins") : Path.of("/usr/OFX/Plugins");
    }

    /** The folders of a search path in order; they stand apart by the system's separator or a semicolon. */
    static List<Path> searched(String searchPath) {
        List<Path> folders = new ArrayList<>();
        if (searchPath != null) {
            for (String one : searchPath.split("[" + File.pathSeparator + ";]")) {
                if (!one.isBlank()) {
                    folders.add(Path.of(one.strip()));
                }
            }
        }
        return folders;
    }

    /** The first folder of the search path that lies in the home folder, else {@code OFX/Plugins} there. */
    static Path ofUser(String searchPath, Path home) {
        return searched(searchPath).stream().filter(f -> f.toAbsolutePath().normalize().startsWith(home)).findFirst()
            .orElse(home.resolve("OFX").resolve("Plugins"));
    }

    /** The first folder of the search path, else that of the system. */
    static Path usual(String searchPath) {
        return searched(searchPath).stream().findFirst().orElseGet(PluginFolder::ofSystem);
    }

    /** Whether hosts with this search path look here. */
    boolean isSearched(String searchPath) {
        Path here = folder.toAbsolutePath().normalize();
        return here.equals(ofSystem()) || searched(searchPath).stream().anyMatch(f -> f.toAbsolutePath().normalize().equals(here));
    }

    Path bundle() {
        return folder.resolve(BUNDLE);
    }

    /**
     * Puts a copy of a bundle here.
     *
     * @return true when it took the place of an older one
     * @throws InputException when the folder cannot be written to, or what stands there is not our bundle; then nothing has changed
     */
    boolean install(Path bundle) {
        requireOursOrNothing("installed");
        Path coming = folder.resolve(PART + ProcessHandle.current().pid());
        Path going = folder.resolve(OLD + ProcessHandle.current().pid());
        boolean replaces;
        try {
            Files.createDirectories(folder);
            removeLeftovers();
            copyTree(bundle, coming);
            replaces = Files.exists(bundle(), LinkOption.NOFOLLOW_LINKS);
            if (replaces) {
                Files.move(bundle(), going, StandardCopyOption.ATOMIC_MOVE);
            }
            Files.move(coming, bundle(), StandardCopyOption.ATOMIC_MOVE);
            bringToDisk(folder);
        } catch (IOException refused) {
            bringBack(going);
            removeQuietly(coming);
            throw cannot("copied there", refused);
        }
        removeQuietly(going);
        return replaces;
    }

    /**
     * Takes our bundle away.
     *
     * @throws InputException when there is none, it is not ours, or it cannot be removed
     */
    void uninstall() {
        if (!Files.exists(bundle(), LinkOption.NOFOLLOW_LINKS)) {
            throw new InputException(folder + ": there is no " + BUNDLE + " here, so nothing was removed; give the folder it is in with --to, --user or --system");
        }
        requireOursOrNothing("removed");
        Path going = folder.resolve(OLD + ProcessHandle.current().pid());
        try {
            Files.move(bundle(), going, StandardCopyOption.ATOMIC_MOVE);
            bringToDisk(folder);
            removeTree(going);
        } catch (IOException refused) {
            throw cannot("removed", refused);
        }
    }

    private InputException cannot(String what, IOException refused) {
        return new InputException(folder + ": the plug-in cannot be " + what + " (" + InputException.reason(refused)
            + "); run as a user who may write there, or use --user, or --to with a folder of yours", refused);
    }

    private void requireOursOrNothing(String what) {
        if (Files.exists(folder) && !Files.isDirectory(folder)) {
            throw new InputException(folder + ": is a file, not a folder, so the plug-in cannot be " + what + " there; give another folder with --to");
        }
        Path there = bundle();
        if (!Files.exists(there, LinkOption.NOFOLLOW_LINKS)) {
            return;
        }
        if (Files.isSymbolicLink(there)) {
            throw new InputException(there + ": is a link, which this command leaves alone; remove the link and try again");
        }
        if (!isOurs(there)) {
            throw new InputException(there + ": is not a bundle of Evenstop (it holds no Contents/*/Evenstop.ofx), so it stays untouched; move it away and try again");
        }
    }

    private static boolean isOurs(Path there) {
        try (Stream<Path> architectures = Files.list(there.resolve("Contents"))) {
            return architectures.anyMatch(a -> Files.isRegularFile(a.resolve("Evenstop.ofx")));
        } catch (IOException unreadable) {
            return false;
        }
    }

    /** What an earlier run that was ended left behind. */
    private void removeLeftovers() throws IOException {
        List<Path> left;
        try (Stream<Path> all = Files.list(folder)) {
            left = all.filter(p -> isLeftover(p.getFileName().toString())).toList();
        }
        left.forEach(PluginFolder::removeQuietly);
    }

    private static boolean isLeftover(String name) {
        String pid = name.startsWith(PART) ? name.substring(PART.length()) : name.startsWith(OLD) ? name.substring(OLD.length()) : "";
        return pid.matches("[0-9]{1,18}") && ProcessHandle.of(Long.parseLong(pid)).isEmpty();
    }

    private void bringBack(Path going) {
        try {
            if (Files.exists(going) && !Files.exists(bundle())) {
                Files.move(going, bundle(), StandardCopyOption.ATOMIC_MOVE);
            }
        } catch (IOException lost) {
            throw new InputException(going + ": the earlier plug-in could not be put back; rename it to " + bundle(), lost);
        }
    }

    private static void copyTree(Path from, Path to) throws IOException {
        Files.walkFileTree(from, new SimpleFileVisitor<>() {
            @Override
            public FileVisitResult preVisitDirectory(Path dir, BasicFileAttributes attributes) throws IOException {
                Files.createDirectories(to.resolve(from.relativize(dir)));
                return FileVisitResult.CONTINUE;
            }

            @Override
            public FileVisitResult visitFile(Path file, BasicFileAttributes attributes) throws IOException {
                Path copy = to.resolve(from.relativize(file));
                Files.copy(file, copy, StandardCopyOption.COPY_ATTRIBUTES, LinkOption.NOFOLLOW_LINKS);
                if (attributes.isRegularFile()) {
                    bringToDisk(copy);
                }
                return FileVisitResult.CONTINUE;
            }

            @Override
            public FileVisitResult postVisitDirectory(Path dir, IOException failed) throws IOException {
                if (failed != null) {
                    throw failed;
                }
                bringToDisk(to.resolve(from.relativize(dir)));
                return FileVisitResult.CONTINUE;
            }
        });
    }

    private static void bringToDisk(Path fileOrFolder) throws IOException {
        try (FileChannel channel = FileChannel.open(fileOrFolder, StandardOpenOption.READ)) {
            channel.force(true);
        }
    }

    private static void removeTree(Path root) throws IOException {
        if (!Files.exists(root, LinkOption.NOFOLLOW_LINKS)) {
            return;
        }
        Files.walkFileTree(root, new SimpleFileVisitor<>() {
            @Override
            public FileVisitResult visitFile(Path file, BasicFileAttributes attributes) throws IOException {
                Files.delete(file);
                return FileVisitResult.CONTINUE;
            }

            @Override
            public FileVisitResult postVisitDirectory(Path dir, IOException failed) throws IOException {
                Files.delete(dir);
                return FileVisitResult.CONTINUE;
            }
        });
    }

    private static void removeQuietly(Path root) {
        try {
            removeTree(root);
        } catch (IOException ignored) {
            // It lies there under a hidden name; the next install takes it away.
        }
    }
}
