// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Pointer;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.AtomicMoveNotSupportedException;
import java.nio.file.Files;
import java.nio.file.InvalidPathException;
import java.nio.file.Path;
import java.nio.file.StandardCopyOption;
import java.nio.file.StandardOpenOption;
import java.util.Locale;
import java.util.UUID;
import java.util.function.Consumer;
import org.evenstop.engine.InputException;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Preset;

/**
 * Presets, profiles and corrections from and to files that the user named. A file is written beside its place and moved there
 * when it is complete; one that is not of the same kind is never replaced.
 */
final class KeptFiles {
    private enum Operation { LOAD_PRESET, LOAD_PROFILE, LOAD_CORRECTION, SAVE_PRESET, SAVE_PROFILE, SAVE_CORRECTION }

    private static final int LONGEST_NAME = 40;
    private static final String CORRECTION = "correction kept in the project";

    private KeptFiles() {
    }

    /** Reads or writes one file; texts out: its content and a line for people. */
    static void handle(Pointer block) {
        long number = block.getLong(Blocks.FILE_OPERATION);
        if (number < 0 || number >= Operation.values().length) {
            throw new InputException("file operation " + number + " is not known");
        }
        block.setLong(Blocks.FILE_CONTENT, 0);
        block.setLong(Blocks.FILE_FOUND, 0);
        Operation operation = Operation.values()[(int) number];
        Path file = file(Blocks.word(block, Blocks.FILE_PATH));
        String where = file.toString();
        String content;
        String found = "";
        switch (operation) {
            case LOAD_PRESET -> content = EvenstopFiles.toJson(EvenstopFiles.presetFromJson(EvenstopFiles.read(file), where));
            case LOAD_PROFILE -> content = EvenstopFiles.toJson(EvenstopFiles.profileFromJson(EvenstopFiles.read(file), where));
            case LOAD_CORRECTION -> {
                Correction correction = EvenstopFiles.correctionFromJson(EvenstopFiles.read(file), where);
                content = EvenstopFiles.toJson(correction);
                found = "loaded from " + file.getFileName() + Solving.exposureWords(correction);
            }
            case SAVE_PRESET -> {
                Preset preset = Wishes.read(block, Blocks.FILE_TEXT, Blocks.FILE_LENGTH).preset();
                String name = name(file);
                content = EvenstopFiles.toJson(preset.withName(name, preset.label().equals(preset.name()) ? name : cut(preset.label()), preset.note()));
                refuseOther(file, "preset", text -> EvenstopFiles.presetFromJson(text, where));
                write(file, content);
            }
            case SAVE_PROFILE -> {
                Profile profile = Wishes.read(block, Blocks.FILE_TEXT, Blocks.FILE_LENGTH).profile();
                content = EvenstopFiles.toJson(profile);
                refuseOther(file, "profile", text -> EvenstopFiles.profileFromJson(text, where));
                write(file, content);
            }
            case SAVE_CORRECTION -> {
                String text = Blocks.text(block, Blocks.FILE_TEXT, Blocks.FILE_LENGTH, CORRECTION);
                if (text.isEmpty()) {
                    throw new InputException("there is no correction to save. Press Measure clip first.");
                }
                content = EvenstopFiles.toJson(KeptText.read(text, CORRECTION, EvenstopFiles::correctionFromJson));
                refuseOther(file, "correction", old -> EvenstopFiles.correctionFromJson(old, where));
                write(file, content);
            }
            default -> throw new AssertionError(operation);
        }
        Blocks.giveText(block, Blocks.FILE_CONTENT, Blocks.FILE_CONTENT_LENGTH, content);
        Blocks.giveText(block, Blocks.FILE_FOUND, Blocks.FILE_FOUND_LENGTH, found);
    }

    private static Path file(String named) {
        String trimmed = named.strip();
        if (trimmed.isEmpty()) {
            throw new InputException("no file is named. Give its full path, ending in .json.");
        }
        try {
            Path file = Path.of(trimmed);
            if (!file.isAbsolute() || !trimmed.toLowerCase(Locale.ROOT).endsWith(".json")) {
                throw new InputException("'" + trimmed + "' is not a full path that ends in .json. Give one.");
            }
            return file;
        } catch (InvalidPathException e) {
            throw new InputException("'" + trimmed + "' is not the path of a file (" + e.getReason() + "). Give a full path that ends in .json.", e);
        }
    }

    /** A name of ours from that of a file. */
    private static String name(Path file) {
        String stem = file.getFileName().toString();
        stem = stem.substring(0, stem.length() - 5).replaceAll("[^A-Za-z0-9-]+", "-");
        if (stem.isEmpty() || !Character.isLetter(stem.charAt(0))) {
            stem = "aim-" + stem.replaceAll("^-+", "");
        }
        return stem.length() <= LONGEST_NAME ? stem : stem.substring(0, LONGEST_NAME);
    }

    private static String cut(String label) {
        return label.length() <= 80 ? label : label.substring(0, 80);
    }

    private static void refuseOther(Path file, String kind, Consumer<String> reader) {
        if (!Files.exists(file)) {
            return;
        }
        try {
            reader.accept(EvenstopFiles.read(file));
        } catch (RuntimeException other) {
            throw new InputException(file + ": is there already and is not a " + kind + " of Evenstop, so it was not replaced. Give another name.", other);
        }
    }

    private static void write(Path file, String content) {
        Path beside = null;
        try {
            if (file.getParent() == null || !Files.isDirectory(file.getParent())) {
                throw new InputException(file + ": there is no such folder. Make it, or give another path.");
            }
            // With the rights of any other file: a temporary one could be read by its owner alone.
            beside = file.resolveSibling(".evenstop-" + UUID.randomUUID() + ".json.part");
            Files.writeString(beside, content, StandardCharsets.UTF_8, StandardOpenOption.CREATE_NEW, StandardOpenOption.WRITE);
            try {
                Files.move(beside, file, StandardCopyOption.ATOMIC_MOVE);
            } catch (AtomicMoveNotSupportedException slow) {
                Files.move(beside, file, StandardCopyOption.REPLACE_EXISTING);
            }
        } catch (IOException e) {
            throw new InputException(file + ": could not be written (" + InputException.reason(e) + "). Nothing was changed; check the folder.", e);
        } finally {
            remove(beside);
        }
    }

    /** What was not moved to its place. */
    private static void remove(Path beside) {
        try {
            if (beside != null) {
                Files.deleteIfExists(beside);
            }
        } catch (IOException left) {
            // A leftover with a name of its own does no harm, and the message of what went wrong is already on its way.
        }
    }
}
