// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.frame;

/** How a component of a packed frame is stored. Integer depths map 0..max to level 0..1; half and float hold levels as they are. */
public enum SampleDepth {
    BYTE(1),
    SHORT(2),
    HALF(2),
    FLOAT(4);

    private final int bytes;

    SampleDepth(int bytes) {
        this.bytes = bytes;
    }

    public int bytes() {
        return bytes;
    }
}
