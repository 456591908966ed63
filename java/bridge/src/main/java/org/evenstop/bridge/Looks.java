// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Pointer;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.FramePlace;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.mask.GraduatedMask;
import org.evenstop.engine.mask.MaskedCorrection;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.view.View;
import org.evenstop.engine.view.ViewSettings;

/** Reads the part of an argument block that says where pixels lie, what mask lies over them, and what is drawn: struct EvLook. */
final class Looks {
    /** Ceiling of profiles that are not shipped: the highest video code, a little less so that noise counts. */
    private static final double HIGHEST_CEILING = 955.0 / 876;
    private static final double BELOW_CEILING = 0.004;
    private static final View[] VIEWS = View.values();

    private Looks() {
    }

    static FramePlace place(Pointer block, int look, int pixelX, int pixelY) {
        try {
            return new FramePlace(block.getDouble(look + Blocks.LOOK_X1), block.getDouble(look + Blocks.LOOK_X1 + 8),
                block.getDouble(look + Blocks.LOOK_X1 + 16), block.getDouble(look + Blocks.LOOK_X1 + 24), block.getDouble(look + Blocks.LOOK_SCALE_X),
                block.getDouble(look + Blocks.LOOK_SCALE_Y), block.getDouble(look + Blocks.LOOK_PIXEL_ASPECT),
                Math.toIntExact(block.getLong(pixelX)), Math.toIntExact(block.getLong(pixelY)));
        } catch (IllegalArgumentException | ArithmeticException odd) {
            throw new InputException("the host says of the picture: " + odd.getMessage(), odd);
        }
    }

    /** The two corrections and their mask, or null where there is one correction only. */
    static MaskedCorrection masked(Pointer block, int look, Correction ground) {
        long sky = block.getLong(look + Blocks.LOOK_SKY);
        if (sky == 0) {
            return null;
        }
        try {
            return new MaskedCorrection(new GraduatedMask(block.getDouble(look + Blocks.LOOK_HORIZON), block.getDouble(look + Blocks.LOOK_ANGLE),
                block.getDouble(look + Blocks.LOOK_FEATHER), block.getDouble(look + Blocks.LOOK_MIX)), ground, Corrections.of(sky));
        } catch (IllegalArgumentException odd) {
            throw new InputException(odd.getMessage(), odd);
        }
    }

    static View view(Pointer block, int look) {
        long view = block.getLong(look + Blocks.LOOK_VIEW);
        if (view < 0 || view >= VIEWS.length) {
            throw new InputException("view number " + view + " is not known; 0 to " + (VIEWS.length - 1) + " are");
        }
        return VIEWS[(int) view];
    }

    static ViewSettings settings(Pointer block, int look, View view, Correction ground) {
        double ceiling = HIGHEST_CEILING;
        String profile = ground.origin().profile();
        if (view == View.CLIPPED && EvenstopFiles.profileNames().contains(profile)) {
            ceiling = EvenstopFiles.profile(profile).ceiling();
        }
        try {
            return new ViewSettings(view, block.getDouble(look + Blocks.LOOK_ZEBRA), block.getDouble(look + Blocks.LOOK_SPLIT), 0,
                ceiling - BELOW_CEILING, ground.standard());
        } catch (IllegalArgumentException odd) {
            throw new InputException(odd.getMessage(), odd);
        }
    }
}
