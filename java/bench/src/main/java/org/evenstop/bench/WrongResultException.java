// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

/** Something that was about to be timed computes the wrong picture: a time for it would mean nothing. */
final class WrongResultException extends RuntimeException {
    private static final long serialVersionUID = 1;

    WrongResultException(String message) {
        super(message);
    }
}
