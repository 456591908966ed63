// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.frame;

/** What the alpha component means for the colour beside it. */
public enum AlphaState {
    /** Alpha is ignored and carried over. */
    OPAQUE,
    /** Colour was multiplied by alpha: it is divided out before a curve and multiplied back after. */
    PREMULTIPLIED,
    UNPREMULTIPLIED
}
