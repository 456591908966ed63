// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.nio.file.Files;
import java.nio.file.Path;

/** Where CMake puts the C that is measured against. */
final class NativeLibraries {
    private NativeLibraries() {
    }

    /** The source tree as the launcher names it, else the working folder. */
    static Path home() {
        return Path.of(System.getProperty("evenstop.home", ".")).toAbsolutePath().normalize();
    }

    /** The full path of {@code build/lib/lib<name>.so}, or null where it was not built. */
    static Path find(String name) {
        for (String ending : new String[] {".so", ".dylib"}) {
            Path file = home().resolve("build").resolve("lib").resolve("lib" + name + ending);
            if (Files.isRegularFile(file)) {
                return file;
            }
        }
        return null;
    }
}
