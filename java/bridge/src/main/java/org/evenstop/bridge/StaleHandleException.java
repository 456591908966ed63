// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

/** A handle that is no longer known: the caller prepares its text again. No fault of anyone. */
final class StaleHandleException extends RuntimeException {
    StaleHandleException() {
        super("handle is no longer known", null, false, false);
    }
}
