// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.view;

import org.evenstop.engine.level.LumaStandard;

/**
 * What a check view shows and how.
 *
 * @param view       which
 * @param zebraLevel luma from which zebra is drawn, a fraction of level, -0.07..1.1
 * @param split      where source and corrected picture meet, as a share of the width, 0..1
 * @param floor      a pixel whose three channels are all at or below this is clipped, a fraction of level
 * @param ceiling    a pixel with a channel at or above this is clipped; the top of an integer depth counts too
 * @param standard   luma weights
 */
public record ViewSettings(View view, double zebraLevel, double split, double floor, double ceiling, LumaStandard standard) {

    public ViewSettings {
        if (!(zebraLevel >= -0.07 && zebraLevel <= 1.1)) {
            throw new IllegalArgumentException("zebra level " + zebraLevel + " is out of range; give -0.07 to 1.1");
        }
        if (!(split >= 0 && split <= 1)) {
            throw new IllegalArgumentException("split at " + split + " is out of range; give a share of the width from 0 to 1");
        }
        if (!(floor < ceiling)) {
            throw new IllegalArgumentException("floor " + floor + " is not below the ceiling " + ceiling);
        }
    }
}
