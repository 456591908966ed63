// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.nio.ByteOrder;
import java.nio.ShortBuffer;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.profile.Profile;

/**
 * Turns scene light into codes as a display-referred camera does: light times the iris, sensor noise, tone curve on R, G and B alike, chroma scaled
 * by the chroma curve at the luma, BT.709 Y'CbCr, chroma low-passed by [1 2 1]/4 on the even columns, 10-bit 4:2:2 in the codes 4..1019.
 * Thread safe; the codes do not depend on the number of threads.
 */
final class Camera {
    private static final float LUMA_R = (float) LumaStandard.BT709.redWeight();
    private static final float LUMA_G = (float) LumaStandard.BT709.greenWeight();
    private static final float LUMA_B = (float) LumaStandard.BT709.blueWeight();
    private static final float CB = (float) (CodeDepth.BITS10.chromaSpan() / LumaStandard.BT709.cbDivisor());
    private static final float CR = (float) (CodeDepth.BITS10.chromaSpan() / LumaStandard.BT709.crDivisor());
    private static final int LOWEST = CodeDepth.BITS10.lowestVideoCode();
    private static final int HIGHEST = CodeDepth.BITS10.highestVideoCode();

    /** The tone curve by the leading bits of the light as a float: 2048 entries a stop, so an entry is 0.0005 stops wide. */
    private static final int TONE_SHIFT = 12;
    private static final int TONE_FROM = Float.floatToRawIntBits(0x1p-16f) >> TONE_SHIFT;
    private static final int TONE_TO = Float.floatToRawIntBits(0x1p6f) >> TONE_SHIFT;
    private static final int CHROMA_STEPS = 4096;
    private static final int NOISE = 1 << 16;

    /** Read noise and shot noise of the sensor at its lowest gain, in scene light: about 40 dB at mid grey (own choice, no source). */
    private static final float READ_NOISE = 0.00035f;
    private static final float SHOT_NOISE = 1.5e-5f;

    private final float[] tone = new float[TONE_TO - TONE_FROM];
    private final float[] chroma = new float[CHROMA_STEPS + 1];
    private final float[] noise = new float[NOISE];
    private final float dark;
    private final float ceiling;

    Camera(Profile profile) {
        for (int i = 0; i < tone.length; i++) {
            double from = Float.intBitsToFloat(i + TONE_FROM << TONE_SHIFT);
            double to = Float.intBitsToFloat(i + 1 + TONE_FROM << TONE_SHIFT);
            tone[i] = (float) profile.levelOfLight(0.5 * (from + to));
        }
        for (int i = 0; i <= CHROMA_STEPS; i++) {
            chroma[i] = (float) profile.chromaFactor(1.125 * i / CHROMA_STEPS);
        }
        dark = (float) profile.levelOfLight(0);
        ceiling = (float) profile.ceiling();
        for (int i = 0; i < NOISE; i++) {
            // Twelve uniform numbers add up to a near-normal one of variance 1.
            double sum = -6;
            for (int j = 0; j < 12; j++) {
                sum += Noise.unit(i, j, 901);
            }
            noise[i] = (float) sum;
        }
    }

    /** A frame in heap memory of the kind this camera writes. */
    static PlanarFrame allocate(int width, int height) {
        return PlanarFrame.allocate(width, height, ChromaSampling.S422, CodeDepth.BITS10, LumaStandard.BT709, false, true, true);
    }

    /**
     * Records a window of a canvas.
     *
     * @param left, top  the window's first column and row; it has the frame's size and must lie on the canvas
     * @param stops      exposure from the right one: light is multiplied by 2^stops
     * @param gain       sensor gain from the lowest: 0 records without noise, more gain has more of it
     * @param seed       of the noise; give each frame another
     * @param barRows    rows at the top and at the bottom that are black, code 64 and 512
     */
    void record(LightCanvas canvas, int left, int top, PlanarFrame frame, double stops, double gain, int seed, int barRows, int threads) {
        if (left < 0 || top < 0 || left + frame.width() > canvas.width() || top + frame.height() > canvas.height()) {
            throw new IllegalArgumentException("window " + left + "," + top + " of " + frame.width() + "x" + frame.height()
                + " does not lie on a canvas of " + canvas.width() + "x" + canvas.height());
        }
        float iris = (float) StrictMath.pow(2, stops);
        float read = (float) (READ_NOISE * READ_NOISE * gain * gain);
        float shot = (float) (SHOT_NOISE * gain);
        ShortBuffer luma = words(frame.luma());
        ShortBuffer cb = words(frame.cb());
        ShortBuffer cr = words(frame.cr());
        Rows.forEach(frame.height(), threads, () -> {
            Line line = new Line(frame.width());
            return y -> {
                if (y < barRows || y >= frame.height() - barRows) {
                    line.black();
                } else {
                    sense(canvas.rgb(), canvas.index(left, top + y), line, iris, read, shot, Noise.hash(seed, y, 907));
                    line.quantise();
                }
                luma.put(y * frame.lumaStride() / 2, line.lumaCodes);
                cb.put(y * frame.chromaStride() / 2, line.cbCodes);
                cr.put(y * frame.chromaStride() / 2, line.crCodes);
            };
        });
    }

    private static ShortBuffer words(java.nio.ByteBuffer plane) {
        return plane.duplicate().order(ByteOrder.nativeOrder()).clear().asShortBuffer();
    }

    private void sense(float[] rgb, int at, Line line, float iris, float read, float shot, int seed) {
        int grainR = seed;
        int grainG = seed * 31 + 17;
        int grainB = seed * 127 + 71;
        for (int x = 0; x < line.width; x++, at += 3) {
            float r = level(rgb[at] * iris, read, shot, grainR + x);
            float g = level(rgb[at + 1] * iris, read, shot, grainG + x);
            float b = level(rgb[at + 2] * iris, read, shot, grainB + x);
            float y = LUMA_R * r + LUMA_G * g + LUMA_B * b;
            int step = (int) (y * (CHROMA_STEPS / 1.125f));
            float s = chroma[step < 0 ? 0 : step > CHROMA_STEPS ? CHROMA_STEPS : step];
            line.luma[x] = y;
            line.cb[x] = s * (b - y) * CB;
            line.cr[x] = s * (r - y) * CR;
        }
    }

    private float level(float light, float read, float shot, int grain) {
        float l = light + (float) Math.sqrt(read + shot * light) * noise[grain & NOISE - 1];
        int entry = (Float.floatToRawIntBits(l) >> TONE_SHIFT) - TONE_FROM;
        // A negative float has the sign bit set, so it is below the table like any light too small to tell.
        return entry < 0 ? dark : entry >= tone.length ? ceiling : tone[entry];
    }

    /** One row on its way to codes; belongs to one thread. */
    private static final class Line {
        final int width;
        final float[] luma;
        final float[] cb;
        final float[] cr;
        final short[] lumaCodes;
        final short[] cbCodes;
        final short[] crCodes;

        Line(int width) {
            this.width = width;
            luma = new float[width];
            cb = new float[width];
            cr = new float[width];
            lumaCodes = new short[width];
            cbCodes = new short[ChromaSampling.S422.chromaWidth(width)];
            crCodes = new short[cbCodes.length];
        }

        void black() {
            java.util.Arrays.fill(lumaCodes, (short) CodeDepth.BITS10.blackCode());
            java.util.Arrays.fill(cbCodes, (short) CodeDepth.BITS10.achromaticCode());
            java.util.Arrays.fill(crCodes, (short) CodeDepth.BITS10.achromaticCode());
        }

        void quantise() {
            float black = CodeDepth.BITS10.blackCode();
            float span = CodeDepth.BITS10.lumaSpan();
            for (int x = 0; x < width; x++) {
                lumaCodes[x] = legal(black + span * luma[x]);
            }
            float grey = CodeDepth.BITS10.achromaticCode();
            for (int i = 0; i < cbCodes.length; i++) {
                int x = 2 * i;
                int before = x == 0 ? 0 : x - 1;
                int after = x + 1 < width ? x + 1 : x;
                cbCodes[i] = legal(grey + 0.25f * cb[before] + 0.5f * cb[x] + 0.25f * cb[after]);
                crCodes[i] = legal(grey + 0.25f * cr[before] + 0.5f * cr[x] + 0.25f * cr[after]);
            }
        }

        private static short legal(float code) {
            int nearest = (int) Math.floor(code + 0.5f);
            return (short) (nearest < LOWEST ? LOWEST : nearest > HIGHEST ? HIGHEST : nearest);
        }
    }
}
