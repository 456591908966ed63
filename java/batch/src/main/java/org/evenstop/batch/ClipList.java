// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Locale;
import java.util.Set;
import java.util.function.BiConsumer;
import java.util.stream.Stream;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.engine.InputException;

/** The clips named on the command line, folders taken for the clips in them. */
final class ClipList {
    private static final Set<String> CLIP_EXTENSIONS = Set.of("mov", "mp4", "m4v", "mxf", "mkv", "avi", "mts", "m2ts", "ts", "mpg", "mpeg",
        "m2v", "vob", "webm", "dv", "y4m", "nut", "3gp", "wmv");

    private ClipList() {
    }

    /**
     * Folders become their clips by file name, sorted; hidden files, other files and renders of ours are left out. Subfolders are
     * not entered. A file that is named stays, whatever it is called.
     *
     * @param refused gets each argument, or file of a folder, that gives no clip, and why; the others are still listed
     */
    static List<Path> of(List<Path> named, BiConsumer<Path, InputException> refused) {
        List<Path> clips = new ArrayList<>();
        for (Path path : named) {
            try {
                if (path.toString().isEmpty()) {
                    throw new InputException("the name of a clip is empty; give a file or a folder");
                }
                if (!Files.isDirectory(path)) {
                    add(path, clips, refused);
                    continue;
                }
                inFolder(path).forEach(file -> add(file, clips, refused));
            } catch (InputException wrong) {
                refused.accept(path, wrong);
            }
        }
        return clips;
    }

    private static void add(Path file, List<Path> clips, BiConsumer<Path, InputException> refused) {
        try {
            ClipReader.requireReadableName(file);
            clips.add(file);
        } catch (InputException wrong) {
            refused.accept(file, wrong);
        }
    }

    /** True for a name that ends like a clip's. */
    static boolean endsLikeAClip(String name) {
        int dot = name.lastIndexOf('.');
        return dot > 0 && CLIP_EXTENSIONS.contains(name.substring(dot + 1).toLowerCase(Locale.ROOT));
    }

    private static List<Path> inFolder(Path folder) {
        try (Stream<Path> entries = Files.list(folder)) {
            List<Path> found = entries.filter(Files::isRegularFile).filter(ClipList::isClipName)
                .sorted(Comparator.comparing(p -> p.getFileName().toString())).toList();
            if (found.isEmpty()) {
                throw new InputException(folder + ": there is no clip in this folder (looked for ." + String.join(", .",
                    CLIP_EXTENSIONS.stream().sorted().toList()) + "); name the files");
            }
            return found;
        } catch (IOException unreadable) {
            throw new InputException(folder + ": the folder cannot be read; check its permissions", unreadable);
        }
    }

    private static boolean isClipName(Path path) {
        String name = path.getFileName().toString();
        return !name.startsWith(".") && endsLikeAClip(name) && !stem(path).toLowerCase(Locale.ROOT).endsWith(".evenstop");
    }

    /** File name without its last extension. */
    static String stem(Path path) {
        String name = path.getFileName().toString();
        int dot = name.lastIndexOf('.');
        return dot > 0 ? name.substring(0, dot) : name;
    }
}
