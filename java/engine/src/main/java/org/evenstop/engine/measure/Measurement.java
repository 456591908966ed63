// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.util.List;

/**
 * What was found in a clip. Levels are in percent, shares 0..1.
 *
 * @param clip        file or clip name
 * @param frames      frames that were measured; black frames and fades are left out of everything but the notes
 * @param levels      luma levels of the picture area
 * @param red         levels of R', likewise {@code green} and {@code blue}
 * @param clippedHigh share of pixels at the ceiling: the level at which the top of the histogram piles up, or 108.7 % and above
 * @param clippedLow  share of pixels at or below black
 * @param ceiling     the level taken for the ceiling
 * @param skin        what counts as skin
 * @param subject     level of the subject: the skin median where there is enough skin, else the median
 * @param noise       standard deviation of luma noise in percent of level (see {@link NoiseMeter})
 * @param noiseTiles  tiles of 16x16 pixels, not black, that noise and detail were told from; 0 where a measurement does not tell
 * @param detail      finest detail by level, from dark to bright; empty where a measurement does not tell
 * @param chroma      mean chroma length by luma zone
 * @param area        picture area without letterbox bars, as fractions of the frame
 * @param horizon     estimate of a horizon, never null
 * @param sample      kept pixels on which corrections are tried
 * @param notes       one sentence each
 */
public record Measurement(String clip, int frames, LevelSummary levels, LevelSummary red, LevelSummary green, LevelSummary blue,
                          double clippedHigh, double clippedLow, double ceiling, Skin skin, double subject, double noise,
                          int noiseTiles, List<TileDetail> detail, List<ChromaZone> chroma, PictureArea area, Horizon horizon, PixelSample sample, List<String> notes) {

    /** Under this many tiles, 128x128 pixels, the smoothest tenth is half a dozen, and what is foretold of their noise may be off by half (own choice, no source). */
    private static final int LEAST_TILES = 64;

    public Measurement {
        detail = List.copyOf(detail);
        chroma = List.copyOf(chroma);
        notes = List.copyOf(notes);
    }

    /** Whether noise can bound a lift: it was found, and in a picture large enough for it to be told from texture. */
    public boolean tellsNoise() {
        return noise > 0 && (noiseTiles == 0 || noiseTiles >= LEAST_TILES);
    }

    /** Mean chroma length (0..0.6) of the pixels whose luma lies in {@code from..to} percent; {@code share} of all pixels. */
    public record ChromaZone(double from, double to, double share, double chroma) {
    }

    /** Fractions of the frame's width and height, top left origin: 0, 0, 1, 1 is the whole frame. */
    public record PictureArea(double left, double top, double right, double bottom) {
        public boolean isWholeFrame() {
            return left == 0 && top == 0 && right == 1 && bottom == 1;
        }
    }

    /**
     * Where the picture divides best into a brighter part above a darker one (largest between-class variance over row means,
     * N. Otsu, IEEE Trans. SMC 9(1), 1979).
     *
     * @param position   fraction of the picture height from its top
     * @param confidence share of the variance of row means that the division explains, 0..1; 0 where the lower part is brighter
     */
    public record Horizon(double position, double confidence) {
    }
}
