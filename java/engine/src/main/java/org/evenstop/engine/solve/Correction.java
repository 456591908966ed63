// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.level.LumaStandard;

/**
 * What is done to every frame of a clip: three curves, applied per pixel to levels R', G', B' (0..1 nominal) as
 *
 * <pre>
 * Y'  = w . v                 v1 = Y'  + chromaIn(Y')  (v  - Y')      undo the profile's chroma
 *                             v2 = tone(v1) per channel               re-expose and stretch
 * Y'' = w . v2                out = Y'' + chromaOut(Y'') (v2 - Y'')   chroma for the new level
 * </pre>
 *
 * w are the luma weights of {@code standard}. A pixel with R' = G' = B' stays so exactly in the model.
 *
 * @param chromaIn  factor against luma, above 0
 * @param tone      non-decreasing level to level
 * @param chromaOut factor against the new luma, 0 or above
 * @param standard  which luma weights w are meant
 * @param origin    where the correction came from and what was found; never null
 */
public record Correction(Curve chromaIn, Curve tone, Curve chromaOut, LumaStandard standard, CorrectionOrigin origin) {

    public Correction {
        if (!tone.isNonDecreasing()) {
            throw new IllegalArgumentException("tone curve of a correction must never fall; it does");
        }
        for (double factor : chromaIn.values()) {
            if (factor <= 0 || factor > 100) {
                throw new IllegalArgumentException("chromaIn holds " + factor + "; factors lie above 0 and at most at 100");
            }
        }
        for (double factor : chromaOut.values()) {
            if (factor < 0 || factor > 100) {
                throw new IllegalArgumentException("chromaOut holds " + factor + "; factors lie from 0 to 100");
            }
        }
    }

    /** The correction that changes nothing. */
    public static Correction identity(LumaStandard standard) {
        return new Correction(Curve.constant(1), Curve.identity(), Curve.constant(1), standard, CorrectionOrigin.none());
    }

    /** True when applying it may be skipped: the result would differ from the input by float rounding only. */
    public boolean isIdentity() {
        return tone.isIdentity() && chromaIn.isConstant(1) && chromaOut.isConstant(1);
    }

    /** True when chroma is left as the tone curve leaves it. */
    public boolean isToneOnly() {
        return chromaIn.isConstant(1) && chromaOut.isConstant(1);
    }
}
