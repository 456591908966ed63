// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.frame;

/** Which components a packed pixel has, in memory order. */
public enum Components {
    RGBA(4),
    RGB(3),
    ALPHA(1);

    private final int count;

    Components(int count) {
        this.count = count;
    }

    public int count() {
        return count;
    }
}
