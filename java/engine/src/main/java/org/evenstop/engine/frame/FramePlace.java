// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.frame;

/**
 * Where the pixels of a frame, or of a tile of one, lie in the whole picture. Places are told in picture heights, so the same
 * spot of a picture has the same numbers in a tile, at half size, and with pixels that are not square.
 *
 * <p>Canonical coordinates are those of OpenFX: square pixels at full size, y going up. Rows of the frame go up the picture
 * too; a frame that is stored from the top down is viewed with a negative stride.
 *
 * @param x1          left edge of the whole picture, canonical
 * @param y1          bottom edge
 * @param x2          right edge, above x1
 * @param y2          top edge, above y1
 * @param scaleX      pixels per canonical unit across, without the pixel aspect: 0.5 at half size
 * @param scaleY      pixels per canonical unit up
 * @param pixelAspect width of a pixel divided by its height
 * @param pixelX      column, in pixel coordinates of this scale, of the frame's first column
 * @param pixelY      row, in pixel coordinates of this scale, of the frame's row 0
 */
public record FramePlace(double x1, double y1, double x2, double y2, double scaleX, double scaleY, double pixelAspect, int pixelX, int pixelY) {

    public FramePlace {
        if (!(x2 > x1 && y2 > y1 && Double.isFinite(x2 - x1) && Double.isFinite(y2 - y1))) {
            throw new IllegalArgumentException("picture from " + x1 + "," + y1 + " to " + x2 + "," + y2 + " is empty or without end");
        }
        requireFactor("scale across", scaleX);
        requireFactor("scale up", scaleY);
        requireFactor("pixel aspect", pixelAspect);
    }

    private static void requireFactor(String what, double value) {
        if (!(value >= 1e-4 && value <= 1e4)) {
            throw new IllegalArgumentException(what + " " + value + " is out of range; give 0.0001 to 10000");
        }
    }

    /** The place of a whole frame of square pixels. */
    public static FramePlace whole(int width, int height) {
        return new FramePlace(0, 0, width, height, 1, 1, 1, 0, 0);
    }

    /** The place of a part that begins so many columns and rows further on. */
    public FramePlace shifted(int columns, int rows) {
        return new FramePlace(x1, y1, x2, y2, scaleX, scaleY, pixelAspect, pixelX + columns, pixelY + rows);
    }

    /** Middle of a column, in picture heights to the right of the picture's centre. */
    public double across(int column) {
        return (canonicalX(column) - 0.5 * (x1 + x2)) / (y2 - y1);
    }

    /** Middle of a column as a share of the picture's width: 0 at the left edge, 1 at the right. */
    public double shareAcross(int column) {
        return (canonicalX(column) - x1) / (x2 - x1);
    }

    /** Middle of a row, in picture heights above the picture's bottom edge. */
    public double up(int row) {
        return ((pixelY + row + 0.5) / scaleY - y1) / (y2 - y1);
    }

    private double canonicalX(int column) {
        return (pixelX + column + 0.5) * pixelAspect / scaleX;
    }

    /** Rows of the whole picture at this scale. */
    public double heightInPixels() {
        return (y2 - y1) * scaleY;
    }

    /** Columns of the whole picture at this scale. */
    public double widthInPixels() {
        return (x2 - x1) * scaleX / pixelAspect;
    }

    /** A column counted from the picture's leftmost one. */
    public int pictureColumn(int column) {
        return pixelX + column - (int) Math.round(x1 * scaleX / pixelAspect);
    }

    /** A row counted from the picture's lowest one. */
    public int pictureRow(int row) {
        return pixelY + row - (int) Math.round(y1 * scaleY);
    }
}
