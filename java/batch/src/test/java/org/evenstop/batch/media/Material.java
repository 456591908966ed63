// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Optional;
import java.util.stream.Stream;

/** Real clips, where they were fetched: in the folder of {@code EVENSTOP_MATERIAL}, else {@code build/material} of the tree. */
public final class Material {
    private Material() {
    }

    public static Optional<Path> find(String name) {
        String set = System.getenv("EVENSTOP_MATERIAL");
        Path folder = set != null && !set.isBlank() ? Path.of(set) : Path.of("").toAbsolutePath().resolve("../../build/material").normalize();
        if (!Files.isDirectory(folder)) {
            return Optional.empty();
        }
        try (Stream<Path> files = Files.walk(folder)) {
            return files.filter(p -> p.getFileName().toString().equals(name)).findFirst();
        } catch (IOException unreadable) {
            return Optional.empty();
        }
    }
}
