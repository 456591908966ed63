// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

/**
 * Where one frame shows what another shows: what lies at p from the middle of the one lies at {@code zoom p + (x, y)} from the
 * middle of the other.
 *
 * @param x    columns of the grid
 * @param y    rows of the grid
 * @param zoom factor, above 0
 */
record PlaceShift(double x, double y, double zoom) {
    static final PlaceShift NONE = new PlaceShift(0, 0, 1);

    /** This, and then another. */
    PlaceShift then(PlaceShift next) {
        return new PlaceShift(next.zoom * x + next.x, next.zoom * y + next.y, next.zoom * zoom);
    }

    /** What takes the end of this to the end of another that begins where this begins. */
    PlaceShift to(PlaceShift other) {
        double factor = other.zoom / zoom;
        return new PlaceShift(other.x - factor * x, other.y - factor * y, factor);
    }
}
