// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.solve.Correction;

/**
 * Applies a correction to a band of rows of a frame. {@link ScalarKernel} is always there and is the truth; others are chosen
 * by name in {@link Kernels} and must write the same bits, so that one may take over from another within a frame.
 *
 * <p>Source and destination have the same size, components and depth (for planar frames the same sampling, depth and range).
 * They may be the same memory where every row has its own colour: packed frames, and planar ones of 4:2:2 and 4:4:4. Bands of one
 * frame may be processed at once by several threads and in any order: the result does not depend on it. Kernels hold no state.
 *
 * <p>{@code strength} mixes input and corrected picture per component: 0 copies the input bit for bit, 1 is the full
 * correction. In half and float frames NaN counts as 0 and values are held within +-65504; alpha is carried over untouched.
 */
public interface CorrectionKernel {
    /** The name it is chosen by, e.g. {@code scalar}. */
    String name();

    /** The name and what it works with, for logs and tables, e.g. {@code vector, 16 lanes}. */
    default String description() {
        return name();
    }

    /**
     * @param rowFrom first row, 0 or more
     * @param rowTo   row after the last, at most the height
     */
    void apply(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength);

    /**
     * As above for Y'CbCr. {@code rowFrom} and {@code rowTo} count luma rows; for 4:2:0 both must be even, or {@code rowTo} the
     * height. Codes written are rounded and held within the video range (4..1019 at 10 bit).
     */
    void apply(PlanarFrame source, PlanarFrame destination, int rowFrom, int rowTo, Correction correction, float strength);
}
