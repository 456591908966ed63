// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine;

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

    /** Values quoted from outside may hold line ends or other control characters; a message never does. */
    private static String oneLine(String message) {
        return message == null ? "" : message.replaceAll("[\\p{Cntrl}\\u0085\\u2028\\u2029]+", " ");
    }
}
