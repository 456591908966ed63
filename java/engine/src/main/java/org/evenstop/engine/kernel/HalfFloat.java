// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

/**
 * IEEE 754-2008 binary16 to and from float, round half to even; Java has this built in only from 20 on. Subnormals, infinities
 * and NaN are kept; floats beyond 65504 become infinite.
 */
public final class HalfFloat {
    private HalfFloat() {
    }

    public static float toFloat(short half) {
        int sign = (half & 0x8000) << 16;
        int exponent = half >>> 10 & 0x1f;
        int fraction = half & 0x3ff;
        if (exponent == 0) {
            float magnitude = fraction * 0x1p-24f;
            return sign == 0 ? magnitude : -magnitude;
        }
        if (exponent == 31) {
            return Float.intBitsToFloat(sign | 0x7f800000 | fraction << 13);
        }
        return Float.intBitsToFloat(sign | exponent + 112 << 23 | fraction << 13);
    }

    public static short ofFloat(float value) {
        int bits = Float.floatToRawIntBits(value);
        int sign = bits >>> 16 & 0x8000;
        int magnitude = bits & 0x7fffffff;
        if (magnitude > 0x7f800000) {
            return (short) (sign | 0x7e00 | magnitude >>> 13 & 0x3ff);
        }
        if (magnitude >= 0x477ff000) {
            return (short) (sign | 0x7c00);
        }
        if (magnitude < 0x38800000) {
            // Below 2^-14: adding 0.5 leaves the subnormal fraction, correctly rounded, in the low bits.
            int rounded = Float.floatToRawIntBits(Float.intBitsToFloat(magnitude) + 0.5f) - 0x3f000000;
            return (short) (sign | rounded);
        }
        int odd = magnitude >>> 13 & 1;
        return (short) (sign | magnitude - 0x38000000 + 0xfff + odd >>> 13);
    }
}
