// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

/**
 * A row of a frame while it is measured, {@code width} pixels: what {@link MeasureLoops} read and compute, before it is counted. Levels
 * are fractions, 0 black and 1 nominal white. Sites are where chroma counts: site i lies at pixel {@code i << siteShift}. Made once for
 * a frame, or reused for frames of one width; belongs to one thread.
 */
public final class MeasuredRow {
    /** The counter of pixels that do not count. */
    public static final int NONE = LevelHistogram.SIZE;
    /** What a pixel that does not count is for noise: far from any code, so that its tile is left out. */
    public static final int NO_CODE = -1_000_000;
    /** Chroma lengths are summed in units of a millionth. */
    public static final float CHROMA_UNIT = 1e6f;
    /** 12-bit codes of luma from level 0 to 1. */
    public static final float CODES = 3504f;

    public final int width;
    /** Luma of each pixel; NaN where one does not count. */
    public final float[] luma;
    /** Step of the histogram of each pixel; {@link #NONE} where one does not count. */
    public final int[] lumaSteps;
    /** Luma, R', G', B' at the sites. */
    public final float[] siteLuma;
    public final float[] red;
    public final float[] green;
    public final float[] blue;
    /** Steps of luma, R', G' and B' at the sites, where the site counts. */
    public final int[] siteSteps;
    public final int[] redSteps;
    public final int[] greenSteps;
    public final int[] blueSteps;
    /** Chroma lengths at the sites in {@link #CHROMA_UNIT}. */
    public final int[] chroma;
    /** One bit for each site that is skin: site {@code i} of a run that begins at {@code from} is bit {@code i - from}, 64 to a word. */
    public final long[] skin;
    /** Least and greatest luma of what was seen so far. */
    public float lowest;
    public float highest;
    /** Of the run looked at last: the sum of the steps of what counts, and how many that are. */
    public long stepSum;
    public int counted;

    /** Luma has room for a pixel more, so that the last of an odd width has a neighbour. */
    public MeasuredRow(int width) {
        this.width = width;
        luma = new float[width + 1];
        lumaSteps = new int[width + 1];
        siteLuma = new float[width];
        red = new float[width];
        green = new float[width];
        blue = new float[width];
        siteSteps = new int[width];
        redSteps = new int[width];
        greenSteps = new int[width];
        blueSteps = new int[width];
        chroma = new int[width];
        skin = new long[width / 64 + 2];
        begin();
    }

    /** Forgets the extremes. */
    public void begin() {
        lowest = Float.POSITIVE_INFINITY;
        highest = Float.NEGATIVE_INFINITY;
    }
}
