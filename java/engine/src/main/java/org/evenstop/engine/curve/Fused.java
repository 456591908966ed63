// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.curve;

/**
 * A product and a sum in one rounding, of floats. {@link Math#fma} is one instruction where the processor has it and goes by way of {@code BigDecimal}
 * where not, a thousand times slower; there it is put together from double arithmetic, to the same bits.
 */
public final class Fused {
    private static final int TRIES = 8;
    private static final int CALLS = 32;
    /** Nanoseconds for so many calls: interpreted instructions take a tenth of it, and big decimals ten times as long. */
    private static final long QUICK = 20_000;

    /** Whether the processor and this Java have such an instruction. Found by trying: nothing tells without loading what the first frame does not need. */
    public static final boolean IN_HARDWARE = isQuick();

    /** Keeps the trials from being left out. */
    private static float sink;

    private Fused() {
    }

    private static boolean isQuick() {
        for (int i = 0; i < TRIES; i++) {
            long from = System.nanoTime();
            float sum = 0.1f;
            for (int call = 0; call < CALLS; call++) {
                sum = Math.fma(sum, 0.7f, 0.3f);
            }
            sink = sum;
            if (System.nanoTime() - from < QUICK) {
                return true;
            }
        }
        return false;
    }

    /** {@code a * b + c}, rounded once. */
    public static float multiplyAdd(float a, float b, float c) {
        return IN_HARDWARE ? Math.fma(a, b, c) : byDoubles(a, b, c);
    }

    /**
     * The product of two floats is exact in double. Of its sum with c, what rounding to double left out is found (D. E. Knuth, The Art of Computer Programming 2, 4.2.2) and makes
     * the last bit odd: rounded to float then, it comes to what one rounding would (S. Boldo and G. Melquiond, IEEE Transactions on Computers 57(4), 2008).
     */
    static float byDoubles(float a, float b, float c) {
        double product = (double) a * b;
        double sum = product + c;
        double ofC = sum - product;
        double left = (product - (sum - ofC)) + (c - ofC);
        // Not so for infinities and NaN, of which nothing finite is left.
        if (left != 0 && left == left) {
            long bits = Double.doubleToRawLongBits(sum);
            if ((bits & 1) == 0) {
                sum = Double.longBitsToDouble(left > 0 == sum > 0 ? bits + 1 : bits - 1);
            }
        }
        return (float) sum;
    }
}
