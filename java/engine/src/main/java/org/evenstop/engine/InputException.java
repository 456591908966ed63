// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine;

import java.io.IOException;
import java.nio.file.AccessDeniedException;
import java.nio.file.FileAlreadyExistsException;
import java.nio.file.FileSystemException;
import java.nio.file.NoSuchFileException;
import java.nio.file.NotDirectoryException;

/**
 * Something from outside is wrong: a file, an argument, a frame, a host property. The message is one line that says what,
 * which value, what is allowed and what to do, so callers print it as it stands.
 */
public final class InputException extends RuntimeException {
    public InputException(String message) {
        super(oneLine(message));
    }

    public InputException(String message, Throwable cause) {
        super(oneLine(message), cause);
    }

    /** Why a file operation failed, in words for such a message: what the exception says itself often is the path alone. */
    public static String reason(IOException failed) {
        if (failed instanceof AccessDeniedException) {
            return "permission denied";
        }
        if (failed instanceof NoSuchFileException) {
            return "no such file or folder";
        }
        if (failed instanceof FileAlreadyExistsException) {
            return "a file is in the way";
        }
        if (failed instanceof NotDirectoryException) {
            return "a file stands where a folder should be";
        }
        if (failed instanceof FileSystemException fileSystem && fileSystem.getReason() != null) {
            return fileSystem.getReason();
        }
        return String.valueOf(failed.getMessage());
    }

    /** Values quoted from outside may hold line ends or other control characters; a message never does. */
    private static String oneLine(String message) {
        return message == null ? "" : message.replaceAll("[\\p{Cntrl}\\u0085\\u2028\\u2029]+", " ");
    }
}
