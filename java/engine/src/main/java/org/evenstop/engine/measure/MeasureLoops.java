// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.LumaStandard;

/**
 * The loops over pixels that measuring consists of, but for the counting itself. {@link ScalarLoops} are the truth; others must
 * come to the same bits, so that it does not matter which of them does which row. Runs are {@code from..to-1}. Without state: used by
 * several threads at once, each with a row of its own.
 */
public interface MeasureLoops {
    /** How many values arrays of codes and of their sums have beyond the last column. */
    int CODES_BEYOND = 2;

    String name();

    /**
     * Reads pixels of a packed frame: luma of each, R', G' and B' of every {@code 1 << siteShift}-th.
     *
     * @param from even
     * @return false, with anything written, where these loops cannot: the scalar ones must
     */
    boolean read(PackedFrame frame, LumaStandard standard, int line, int from, int to, int siteShift, MeasuredRow row);

    /** Reads luma of a planar frame; returns as {@link #read}. */
    boolean readLuma(PlanarFrame frame, int line, int from, int to, MeasuredRow row);

    /**
     * Reads R', G', B' of a planar frame at sites {@code from..to-1} of a line that has chroma; luma has been read.
     *
     * @param chromaShift site i is chroma column {@code i << chromaShift}
     * @return as {@link #read}
     */
    boolean readSites(PlanarFrame frame, int line, int from, int to, int siteShift, int chromaShift, MeasuredRow row);

    /**
     * Steps of luma, their sum and count, its extremes, and luma as 12-bit codes for noise.
     *
     * @param codes receives a code for each pixel of the run, at its column
     */
    void ofLuma(MeasuredRow row, int from, int to, int[] codes);

    /** Steps of luma, R', G' and B', chroma lengths and skin of sites {@code from..to-1}. Sites that do not count get anything. */
    void ofSites(MeasuredRow row, LumaStandard standard, int siteShift, int from, int to);

    /**
     * Diagonal detail of the 2x2 pixels that begin at each column, and their sums. Columns at which no block begins are computed alike, from
     * whatever lies beyond the last.
     *
     * @param above  codes of a row; {@code below} of the next
     * @param fine   is added the magnitude of the detail
     * @param blocks receives the sums
     * @param sums   is added the sums
     */
    void addFine(int[] above, int[] below, int from, int to, int[] fine, int[] blocks, int[] sums);

    /**
     * The same one scale up, on sums of 2x2 pixels, which lie at every other column.
     *
     * @param above  sums of two rows; {@code below} of the next two
     * @param coarse is added the magnitude of the detail
     */
    void addCoarse(int[] above, int[] below, int from, int to, int[] coarse);
}
