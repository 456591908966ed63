// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.frame;

/** How many chroma samples there are for the luma samples of a planar frame. */
public enum ChromaSampling {
    S420(1, 1),
    S422(1, 0),
    S444(0, 0);

    private final int shiftX;
    private final int shiftY;

    ChromaSampling(int shiftX, int shiftY) {
        this.shiftX = shiftX;
        this.shiftY = shiftY;
    }

    /** log2 of luma columns to a chroma column. */
    public int shiftX() {
        return shiftX;
    }

    /** log2 of luma rows to a chroma row. */
    public int shiftY() {
        return shiftY;
    }

    /** Chroma columns of a frame this wide: odd widths round up. */
    public int chromaWidth(int width) {
        return (width + (1 << shiftX) - 1) >> shiftX;
    }

    public int chromaHeight(int height) {
        return (height + (1 << shiftY) - 1) >> shiftY;
    }
}
