// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

/** By how little each frame of a clip is exposed apart from the others so that its flicker stays as it was shot. Immutable. */
public final class FlickerTrim {
    private final float[] stops;
    private final double asShot;
    private final double untrimmed;
    private final double trimmed;

    FlickerTrim(float[] stops, double asShot, double untrimmed, double trimmed) {
        this.stops = stops;
        this.asShot = asShot;
        this.untrimmed = untrimmed;
        this.trimmed = trimmed;
    }

    /** For a clip that is not trimmed. */
    public static FlickerTrim none() {
        return new FlickerTrim(new float[0], 0, 0, 0);
    }

    /** Light of a frame over the light the clip's correction is meant for, to be undone; stops; 0 beyond the end. */
    public double stopsAt(long frame) {
        return frame >= 0 && frame < stops.length ? stops[(int) frame] : 0;
    }

    /** True when no frame is trimmed. */
    public boolean isNone() {
        for (float s : stops) {
            if (s != 0) {
                return false;
            }
        }
        return true;
    }

    /** Mean change of mean luma from one frame of a shot to the next as recorded, a level fraction. */
    public double changeAsShot() {
        return asShot;
    }

    /** The same after the clip's correction alone, as forecast. */
    public double changeUntrimmed() {
        return untrimmed;
    }

    /** The same with the trims, as forecast. */
    public double changeTrimmed() {
        return trimmed;
    }
}
