// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

/** A Java side that throws each time it is opened, for a bundle of the tests: an exception first, then an error. */
public final class Bridge {
    private static int calls;

    private Bridge() {
    }

    /** Never returns. */
    public static int open(long address) {
        if (calls++ > 0) {
            throw new OutOfMemoryError("thrown for the test");
        }
        throw new IllegalStateException("thrown for the test");
    }
}
