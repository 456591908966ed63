// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.mask;

import org.evenstop.engine.frame.FramePlace;

/**
 * How much of a pixel is sky, by its place alone: all of it from the horizon up, none from a little below it down, and a smooth
 * fade between.
 *
 * @param horizon height of the line at the middle of the picture, in percent of the picture's height from its bottom, 0..100
 * @param angle   by how much the line rises to the right, in degrees, -90..90
 * @param feather how far below the line the fade reaches, in percent of the picture's height, 0..100; 0 is a hard edge
 * @param mix     weight above the line, 0..1
 */
public record GraduatedMask(double horizon, double angle, double feather, double mix) {

    public GraduatedMask {
        require("horizon", horizon, 0, 100, "percent");
        require("angle", angle, -90, 90, "degrees");
        require("feather", feather, 0, 100, "percent");
        require("mix", mix, 0, 1, "share");
    }

    private static void require(String what, double value, double from, double to, String unit) {
        if (!(value >= from && value <= to)) {
            throw new IllegalArgumentException(what + " " + value + " of a graduated mask is out of range; give a " + unit + " from " + from + " to " + to);
        }
    }

    /**
     * Weight of the sky, 0..mix. The fade is 3t^2 - 2t^3, so it leaves both ends level.
     *
     * @param across picture heights to the right of the picture's centre
     * @param up     picture heights above its bottom edge
     */
    public float weight(double across, double up) {
        return weight(across, up, cosine(), sine());
    }

    /**
     * The weights of a row's pixels, the same as {@link #weight} gives one by one.
     *
     * @param into receives {@code width} weights from index 0
     */
    void weights(FramePlace place, int row, int width, float[] into) {
        double up = place.up(row);
        double cosine = cosine();
        double sine = sine();
        for (int x = 0; x < width; x++) {
            into[x] = weight(place.across(x), up, cosine, sine);
        }
    }

    /** Of the strict kind, so that a picture has the same bits on every machine. */
    private double cosine() {
        return angle == 0 ? 1 : StrictMath.cos(Math.toRadians(angle));
    }

    private double sine() {
        return angle == 0 ? 0 : StrictMath.sin(Math.toRadians(angle));
    }

    private float weight(double across, double up, double cosine, double sine) {
        // Picture heights above the line, measured square to it.
        double above = (up - horizon / 100) * cosine - across * sine;
        if (above >= 0) {
            return (float) mix;
        }
        double reach = feather / 100;
        if (above <= -reach) {
            return 0;
        }
        double t = 1 + above / reach;
        return (float) (mix * t * t * (3 - 2 * t));
    }
}
