// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.util.List;

/**
 * The stretch S of a correction: one rising curve on each channel that lowers raised shadows to their level and folds what lies
 * above the highlight level below it. Where neither is needed it is the identity, so a corrected clip asks for nothing when it is
 * solved again.
 *
 * <p>The fold has two parts. The highlights, 99.5 % of channel values, end a little under the highlight level, by a soft shoulder. What is
 * brighter still, lamps and glints, is folded into what is left and never reaches the level, however bright it is: how
 * bright that was is often not recorded, and a handful of lamps must not grey the whole picture.
 *
 * <p>Levels are fractions.
 */
final class Stretch {
    /** How far below its end the shoulder begins, in units of what must be folded. */
    private static final double SHOULDER = 1.6;
    private static final double LOWEST_SHOULDER = 0.45;
    /** Level that is left to what is brighter than the highlights: as much where they lie far below, as little where they fill the range (own choice, no source). */
    private static final double MOST_ROOM = 0.12;
    private static final double LEAST_ROOM = 0.03;

    private final List<Shadows> shadows;
    private final double knee;
    private final double bend;
    /** Where the second part of the fold begins, before and after, its slope there, and what is left above. */
    private final double glints;
    private final double glintsLevel;
    private final double glintsSlope;
    private final double room;

    /**
     * @param shadows        what lowers them, one after the other
     * @param highlights     level of the highlights before
     * @param top            highest level in the picture before, as good as all pixels lie below; not under {@code highlights}
     * @param highlightLevel what all of that ends under when it lies higher
     */
    Stretch(List<Shadows> shadows, double highlights, double top, double highlightLevel) {
        this.shadows = shadows;
        if (top > highlightLevel + 1e-4) {
            double most = Math.min(MOST_ROOM, SHOULDER * (top - highlightLevel));
            double least = Math.min(LEAST_ROOM, 0.25 * most);
            room = Math.min(Math.max(highlightLevel - highlights, least), most);
            glintsLevel = highlightLevel - room;
            glints = Math.max(highlights, glintsLevel);
            double excess = glints - glintsLevel;
            if (excess > 0) {
                knee = Math.max(Math.min(glintsLevel - SHOULDER * excess, glintsLevel - 0.01), Math.min(LOWEST_SHOULDER, glintsLevel - 0.05));
                double over = glints - knee;
                bend = (over / (glintsLevel - knee) - 1) / over;
                glintsSlope = 1 / ((1 + bend * over) * (1 + bend * over));
            } else {
                knee = glints;
                bend = 0;
                glintsSlope = 1;
            }
        } else {
            knee = Double.POSITIVE_INFINITY;
            bend = 0;
            glints = Double.POSITIVE_INFINITY;
            glintsLevel = highlightLevel;
            glintsSlope = 1;
            room = 0;
        }
    }

    double at(double level) {
        double x = level;
        for (int i = 0; i < shadows.size(); i++) {
            x = shadows.get(i).at(x);
        }
        if (x <= knee) {
            return x;
        }
        if (x > glints) {
            double over = glintsSlope * (x - glints);
            return glintsLevel + over / (1 + over / room);
        }
        double over = x - knee;
        return knee + over / (1 + bend * over);
    }

    boolean lowersShadows() {
        return shadows.stream().anyMatch(Shadows::isLowered);
    }

    /** Whether shadows were raised but too near the subject to be lowered without tearing the picture apart. */
    boolean isTooFlat() {
        return shadows.stream().anyMatch(s -> s.flat);
    }

    boolean foldsHighlights() {
        return knee != Double.POSITIVE_INFINITY;
    }
}
