// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;

/** Whether the standard streams go to a terminal (Java does not say it for one stream, Linux does), and text that is fit for one. */
public final class Terminal {
    private Terminal() {
    }

    /** Text from outside as one line that leaves the terminal alone: line ends, escapes and other control characters become spaces. */
    public static String plain(Object text) {
        return String.valueOf(text).replaceAll("[\\p{Cntrl}\\u0080-\\u009f\\u2028\\u2029]+", " ");
    }

    static boolean isOutput() {
        return isTerminal(1);
    }

    static boolean isError() {
        return isTerminal(2) && !"dumb".equals(System.getenv("TERM"));
    }

    private static boolean isTerminal(int descriptor) {
        Path link = Path.of("/proc/self/fd/" + descriptor);
        try {
            String target = Files.readSymbolicLink(link).toString();
            return target.startsWith("/dev/pts/") || target.startsWith("/dev/tty") || target.equals("/dev/console");
        } catch (IOException | UnsupportedOperationException | SecurityException notLinux) {
            return !Files.isDirectory(Path.of("/proc/self/fd")) && System.console() != null;
        }
    }
}
