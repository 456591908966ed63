// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.List;
import org.evenstop.engine.frame.PlanarFrame;

/**
 * One exposure of a bracket: frames of the still scene, all taken at one camera setting.
 *
 * @param name   for messages, usually the file's name
 * @param frames one or more, of one size; not written to
 * @param stops  exposure as stated by whoever shot it, +1 is twice the light; NaN when it is not known
 */
public record Exposure(String name, List<PlanarFrame> frames, double stops) {
    public Exposure {
        frames = List.copyOf(frames);
    }
}
