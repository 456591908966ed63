// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.io.IOException;
import java.nio.channels.FileChannel;
import java.nio.charset.StandardCharsets;
import java.nio.file.DirectoryIteratorException;
import java.nio.file.DirectoryStream;
import java.nio.file.FileAlreadyExistsException;
import java.nio.file.Files;
import java.nio.file.LinkOption;
import java.nio.file.Path;
import java.nio.file.StandardCopyOption;
import java.nio.file.StandardOpenOption;
import java.util.Set;
import java.util.concurrent.ConcurrentHashMap;
import org.evenstop.engine.InputException;

/**
 * A file that appears under its final name only when it is whole. It is written under a hidden name in the same folder, brought to
 * the disk, and renamed; {@link #close} before {@link #commit}, or the end of the process, removes it.
 */
public final class PendingFile implements AutoCloseable {
    private static final Set<Path> UNFINISHED = ConcurrentHashMap.newKeySet();

    static {
        Runtime.getRuntime().addShutdownHook(new Thread(() -> UNFINISHED.forEach(PendingFile::removeQuietly), "evenstop-unfinished-files"));
    }

    private final Path shown;
    private final Path target;
    private final Path written;
    private final boolean overwrite;

    /**
     * @throws InputException when the folder cannot be written to, or the target is there and may not be overwritten
     */
    public PendingFile(Path target, boolean overwrite) {
        shown = target;
        this.target = target.toAbsolutePath();
        this.overwrite = overwrite;
        Path folder = this.target.getParent();
        if (Files.isDirectory(this.target)) {
            throw new InputException(target + ": is a folder; give another output folder or move it away");
        }
        if (!overwrite && Files.exists(this.target)) {
            throw alreadyThere();
        }
        written = folder.resolve("." + this.target.getFileName() + ".part-" + ProcessHandle.current().pid());
        removeStale(folder, "." + this.target.getFileName() + ".part-");
        UNFINISHED.add(written);
        try {
            Files.deleteIfExists(written);
            Files.createFile(written);
        } catch (IOException refused) {
            UNFINISHED.remove(written);
            throw new InputException((shown.getParent() == null ? Path.of(".") : shown.getParent()) + ": files cannot be made in this folder (" + InputException.reason(refused) + "); give another with --out", refused);
        }
    }

    /** A process that was killed leaves its file: those of this name go whose process is no more. Other files are left alone. */
    private static void removeStale(Path folder, String start) {
        try (DirectoryStream<Path> found = Files.newDirectoryStream(folder, file -> isStale(file, start))) {
            found.forEach(PendingFile::removeQuietly);
        } catch (IOException | DirectoryIteratorException unreadable) {
            // What is left over does no harm; whether the folder can be written to is found out next.
        }
    }

    private static boolean isStale(Path file, String start) {
        String name = file.getFileName().toString();
        if (!name.startsWith(start) || !Files.isRegularFile(file, LinkOption.NOFOLLOW_LINKS)) {
            return false;
        }
        String process = name.substring(start.length());
        return process.matches("[1-9][0-9]{0,17}") && ProcessHandle.of(Long.parseLong(process)).isEmpty();
    }

    private InputException alreadyThere() {
        return new InputException(shown + ": is already there; add --overwrite to replace it, or give another folder with --out");
    }

    /** Where to write. */
    public Path path() {
        return written;
    }

    /** Brings the file to the disk and gives it its final name. */
    public void commit() {
        try {
            try (FileChannel channel = FileChannel.open(written, StandardOpenOption.WRITE)) {
                channel.force(true);
            }
            if (overwrite) {
                Files.move(written, target, StandardCopyOption.ATOMIC_MOVE);
            } else {
                moveWithoutReplacing();
            }
            UNFINISHED.remove(written);
        } catch (FileAlreadyExistsException there) {
            throw alreadyThere();
        } catch (IOException failed) {
            throw new InputException(shown + ": could not be finished (" + InputException.reason(failed) + "); nothing was left there", failed);
        }
    }

    /** A hard link fails when the name is taken, where a rename would replace; not every file system has links. */
    private void moveWithoutReplacing() throws IOException {
        try {
            Files.createLink(target, written);
            Files.delete(written);
        } catch (FileAlreadyExistsException there) {
            throw there;
        } catch (UnsupportedOperationException | IOException noLinks) {
            if (Files.exists(target)) {
                throw new FileAlreadyExistsException(target.toString());
            }
            Files.move(written, target, StandardCopyOption.ATOMIC_MOVE);
        }
    }

    /** Writes text as a whole file. */
    public static void writeText(Path target, String text, boolean overwrite) {
        try (PendingFile file = new PendingFile(target, overwrite)) {
            file.commit(text);
        }
    }

    /** Fills the file with text and commits it. */
    public void commit(String text) {
        try {
            Files.writeString(written, text, StandardCharsets.UTF_8);
        } catch (IOException failed) {
            throw new InputException(shown + ": could not be written (" + InputException.reason(failed) + ")", failed);
        }
        commit();
    }

    @Override
    public void close() {
        if (UNFINISHED.remove(written)) {
            removeQuietly(written);
        }
    }

    private static void removeQuietly(Path path) {
        try {
            Files.deleteIfExists(path);
        } catch (IOException ignored) {
            // Nothing more can be done about a file that does not go away; it never had the final name.
        }
    }
}
