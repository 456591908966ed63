// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import java.nio.ByteBuffer;
import java.util.Arrays;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;

/**
 * Finds what one correction makes of the flicker of a clip that is not followed, from all of its frames in order: of noise, of lamps on the mains,
 * of an iris that hunts by hundredths of a stop. A correction multiplies it by its slope.
 *
 * <p>Of each frame the mean luma as recorded is taken and the mean that the correction will make of it, pixel by pixel with its chroma, for noise
 * of chroma becomes one of luma in a strong lift. On the demo's clips the changes from frame to frame of that mean miss those of the frames
 * rendered by what rounding to 10 bit does to them. That the brightest levels are held under the highest code is left out: a solved correction puts
 * hardly any there.
 *
 * <p>Not safe for use by several threads; frames are read during the call only. A frame costs 32 bytes, whatever its size.
 */
public final class FlickerMeter {
    /** How far a trim may move any level: one code at 10 bit. */
    public static final double MOST = 1.0 / CodeDepth.BITS10.lumaSpan();
    /** Trims are found from what so many stops do, the distance of fitted tone curves, between which tone is a blend. */
    private static final double STEP = FollowedCorrection.GRID;
    /** A frame whose mean moves by less than this part of what its most moved level does is all but black or clipped. */
    private static final double LEAST_EFFECT = 0.01;
    /** The change aimed at, of that as shot: a little less, for what forecast and rounding miss (own choice, no source). */
    private static final double AIM = 0.9;
    /** A shot is left alone when its changes are forecast to become at most this part of what they were as shot (own choice, no source). */
    private static final double CALM = 0.98;
    /** The steepest rise that makes nothing larger, and what float adds to it over one code. */
    private static final double STEEP = 1.001;
    private static final int ROUNDS = 4;

    /** The tone curve by level: from where, steps to a level, how many; how finely a level lies between two steps, and a result is told. */
    private static final double FROM = -0.4;
    private static final int PER_LEVEL = 3400;
    private static final int SIZE = 2 * PER_LEVEL;
    private static final int FINE_BITS = 8;
    private static final int TOLD = 1 << 20;
    /** Chroma undone more than this many times counts as undone so many times: products stay within an int. */
    private static final double MOST_UNDONE = 8;
    private static final int CHROMA_BITS = 4;
    private static final int GREEN_BITS = 8;
    private static final float LOWEST = (float) CodeDepth.BITS10.levelOfCode(CodeDepth.BITS10.lowestVideoCode());
    private static final float HIGHEST = (float) CodeDepth.BITS10.levelOfCode(CodeDepth.BITS10.highestVideoCode());

    private final Curve tone;
    private final Curve lifted;
    private final Curve pulled;
    private final double strength;
    private int frames;
    /** Per frame: mean level as recorded and as corrected, and what a lift by a step adds to that and a pull takes away. */
    private double[] recorded = new double[256];
    private double[] corrected = new double[256];
    private double[] lift = new double[256];
    private double[] pull = new double[256];
    /** What lift and pull do to the most moved level, and the steepest rise of level by level that is left to trim. */
    private double mostLift;
    private double mostPull;
    private double steepest;
    private final Curve chromaIn;
    private final int[] toneAt = new int[SIZE];
    /** Sums of red, green and blue as corrected, in units of {@link #TOLD}. */
    private long red;
    private long green;
    private long blue;
    /** By code of a grey: what is summed per frame, for frames of the depth and range seen last, and the codes counted. */
    private CodeDepth depth;
    private boolean fullRange;
    private double[][] byCode;
    private int[] counts;
    /** By code of luma: its place in the tone curve, and how far a code of chroma, in quarters, takes red and blue from there. */
    private int[] placeOf;
    private int[] redOf;
    private int[] blueOf;
    /** A row's codes; those of chroma less grey, in quarters. */
    private int[] luma = {};
    private int[] cb = {};
    private int[] cr = {};
    private int[] sites = {};
    private int[] other = {};

    /**
     * @param corrections of the clip
     * @param strength    0..1, with which they are applied
     */
    public FlickerMeter(FollowedCorrection corrections, double strength) {
        this.strength = strength;
        tone = corrections.base().tone();
        lifted = corrections.at(-STEP).tone();
        pulled = corrections.at(STEP).tone();
        chromaIn = corrections.base().chromaIn();
        for (int i = 0; i < SIZE; i++) {
            toneAt[i] = (int) Math.rint(TOLD * tone.at((float) (FROM + (i + 0.5) / PER_LEVEL)));
        }
    }

    /** @param picture the clip's next frame */
    public void add(PlanarFrame picture) {
        if (byCode == null || depth != picture.depth() || fullRange != picture.fullRange()) {
            tabulate(picture);
        }
        if (luma.length < picture.width()) {
            luma = new int[picture.width()];
            cb = new int[picture.width() + 1];
            cr = new int[picture.width() + 1];
            sites = new int[picture.width() + 1];
            other = new int[picture.width()];
        }
        if (frames == recorded.length) {
            recorded = Arrays.copyOf(recorded, 2 * frames);
            corrected = Arrays.copyOf(corrected, 2 * frames);
            lift = Arrays.copyOf(lift, 2 * frames);
            pull = Arrays.copyOf(pull, 2 * frames);
        }
        Arrays.fill(counts, 0);
        red = 0;
        green = 0;
        blue = 0;
        LumaStandard standard = picture.standard();
        int toGreenFromRed = (int) Math.rint(standard.redWeight() / standard.greenWeight() * (1 << GREEN_BITS));
        int toGreenFromBlue = (int) Math.rint(standard.blueWeight() / standard.greenWeight() * (1 << GREEN_BITS));
        for (int y = 0; y < picture.height(); y++) {
            read(picture.luma(), y * picture.lumaStride(), picture.width(), luma);
            readChroma(picture, picture.cb(), y, cb);
            readChroma(picture, picture.cr(), y, cr);
            addRow(picture.width(), toGreenFromRed, toGreenFromBlue);
        }
        double after = (standard.redWeight() * red + standard.greenWeight() * green + standard.blueWeight() * blue) / TOLD;
        double[] sum = new double[3];
        for (int code = 0; code < counts.length; code++) {
            for (int i = 0; i < 3; i++) {
                sum[i] += counts[code] * byCode[i][code];
            }
        }
        double pixels = (double) picture.width() * picture.height();
        recorded[frames] = sum[0] / pixels;
        corrected[frames] = recorded[frames] + strength * (after / pixels - recorded[frames]);
        lift[frames] = sum[1] / pixels;
        pull[frames] = sum[2] / pixels;
        frames++;
    }

    private void tabulate(PlanarFrame picture) {
        depth = picture.depth();
        fullRange = picture.fullRange();
        int codes = depth.maxCode() + 1;
        byCode = new double[3][codes];
        counts = new int[codes];
        placeOf = new int[codes];
        redOf = new int[codes];
        blueOf = new int[codes];
        double before = 0;
        for (int code = 0; code < codes; code++) {
            float level = (code - picture.blackCode()) / (float) picture.lumaSpan();
            float out = held(tone.at(level));
            byCode[0][code] = level;
            byCode[1][code] = strength * (held(lifted.at(level)) - out);
            byCode[2][code] = strength * (out - held(pulled.at(level)));
            mostLift = Math.max(mostLift, Math.abs(byCode[1][code]));
            mostPull = Math.max(mostPull, Math.abs(byCode[2][code]));
            if (code > 0) {
                steepest = Math.max(steepest, 1 + strength * ((out - before) * picture.lumaSpan() - 1));
            }
            before = out;
            double undone = Math.min(chromaIn.at(level), MOST_UNDONE) * PER_LEVEL * (1 << FINE_BITS + CHROMA_BITS) / (4.0 * picture.chromaSpan());
            placeOf[code] = (int) Math.rint((level - FROM) * PER_LEVEL * (1 << FINE_BITS));
            redOf[code] = (int) Math.rint(undone * picture.standard().crDivisor());
            blueOf[code] = (int) Math.rint(undone * picture.standard().cbDivisor());
        }
    }

    /** A level as a 10-bit file can hold it. */
    private static float held(float level) {
        return Math.min(Math.max(level, LOWEST), HIGHEST);
    }

    /** Codes of a row, none above the depth's highest. */
    private void read(ByteBuffer plane, int offset, int n, int[] codes) {
        int last = counts.length - 1;
        if (depth == CodeDepth.BITS8) {
            for (int i = 0; i < n; i++) {
                codes[i] = plane.get(offset + i) & 0xff;
            }
        } else {
            for (int i = 0; i < n; i++) {
                codes[i] = Math.min(plane.getShort(offset + 2 * i) & 0xffff, last);
            }
        }
    }

    /** Chroma at the pixels of a luma row, less grey, in quarters of a code. */
    private void readChroma(PlanarFrame picture, ByteBuffer plane, int y, int[] into) {
        ChromaSampling sampling = picture.sampling();
        int columns = sampling.chromaWidth(picture.width());
        int grey = depth.achromaticCode();
        int own = y >> sampling.shiftY();
        int[] row = sampling.shiftX() == 0 ? into : sites;
        read(plane, own * picture.chromaStride(), columns, row);
        boolean odd = (y & 1) == 1;
        int share = sampling.shiftY() == 0 ? 0 : picture.chromaTop() ? odd ? 2 : 0 : 1;
        int beside = odd ? Math.min(own + 1, sampling.chromaHeight(picture.height()) - 1) : Math.max(own - 1, 0);
        if (share > 0) {
            read(plane, beside * picture.chromaStride(), columns, other);
            for (int i = 0; i < columns; i++) {
                row[i] = (4 - share) * row[i] + share * other[i] - 4 * grey;
            }
        } else {
            for (int i = 0; i < columns; i++) {
                row[i] = 4 * (row[i] - grey);
            }
        }
        if (sampling.shiftX() == 1) {
            row[columns] = row[columns - 1];
            int toLeft = picture.chromaCosited() ? 0 : 1;
            int toRight = picture.chromaCosited() ? 2 : 1;
            into[0] = row[0];
            for (int i = 1; i < columns; i++) {
                into[2 * i] = row[i] + (toLeft * (row[i - 1] - row[i]) >> 2);
            }
            for (int i = 0; 2 * i + 1 < picture.width(); i++) {
                into[2 * i + 1] = row[i] + (toRight * (row[i + 1] - row[i]) >> 2);
            }
        }
    }

    /** Counts a row's luma and adds what its pixels become. */
    private void addRow(int width, int toGreenFromRed, int toGreenFromBlue) {
        int[] tones = toneAt;
        long r = 0;
        long g = 0;
        long b = 0;
        for (int x = 0; x < width; x++) {
            int code = luma[x];
            counts[code]++;
            int place = placeOf[code];
            int toRed = redOf[code] * cr[x] >> CHROMA_BITS;
            int toBlue = blueOf[code] * cb[x] >> CHROMA_BITS;
            int toGreen = -(toGreenFromRed * toRed + toGreenFromBlue * toBlue >> GREEN_BITS);
            r += tones[Math.min(Math.max(place + toRed >> FINE_BITS, 0), SIZE - 1)];
            g += tones[Math.min(Math.max(place + toGreen >> FINE_BITS, 0), SIZE - 1)];
            b += tones[Math.min(Math.max(place + toBlue >> FINE_BITS, 0), SIZE - 1)];
        }
        red += r;
        green += g;
        blue += b;
    }

    /**
     * How each frame is trimmed so that the mean luma of a shot changes from frame to frame by no more than it did as shot, as far as a trim
     * of at most {@link #MOST} goes. Shots that the correction leaves as calm as they were are not trimmed, nor any when no part of it is
     * steeper than 1, nor those that are not sure.
     *
     * <p>What the correction adds to each change is summed up over the shot, and a string is pulled taut through that sum, nowhere farther from it
     * than a trim may be: what lies between is trimmed. So flicker goes to and fro inside the string's reach and is kept as shot, and where
     * the picture itself gets brighter or darker for good the string goes with it, as evenly as can be.
     *
     * @param track of the same frames; steady
     * @throws IllegalArgumentException when the track has another number of frames, or a shot of it is followed
     */
    public FlickerTrim finish(LightTrack track) {
        if (track.frames() != frames || !track.isSteady()) {
            throw new IllegalArgumentException("flicker was looked for in " + frames + " frames, and the track of light has " + track.frames()
                + (track.isSteady() ? "" : ", of which some are followed"));
        }
        float[] stops = new float[frames];
        double asShot = 0;
        double untrimmed = 0;
        double trimmed = 0;
        int changes = 0;
        for (int[] shot : track.sureShots()) {
            double[] trim = trims(shot);
            for (int j = 0; j < shot.length; j++) {
                int i = shot[j];
                stops[i] = (float) (trim[j] > 0 ? -STEP * trim[j] / lift[i] : trim[j] < 0 ? -STEP * trim[j] / pull[i] : 0);
                if (j > 0) {
                    int before = shot[j - 1];
                    asShot += Math.abs(recorded[i] - recorded[before]);
                    untrimmed += Math.abs(corrected[i] - corrected[before]);
                    trimmed += Math.abs(corrected[i] + trim[j] - corrected[before] - trim[j - 1]);
                    changes++;
                }
            }
        }
        double all = Math.max(1, changes);
        return new FlickerTrim(stops, asShot / all, untrimmed / all, trimmed / all);
    }

    /** What is added to the mean level of each frame of a shot. */
    private double[] trims(int[] shot) {
        int n = shot.length;
        double[] in = new double[Math.max(0, n - 1)];
        double[] out = new double[in.length];
        double[] reach = new double[n];
        double[] excess = new double[n];
        for (int j = 0; j < n; j++) {
            double part = Math.min(lift[shot[j]] / mostLift, pull[shot[j]] / mostPull);
            reach[j] = part > LEAST_EFFECT ? MOST * part : 0;
            if (j > 0) {
                double change = corrected[shot[j]] - corrected[shot[j - 1]];
                in[j - 1] = Math.abs(recorded[shot[j]] - recorded[shot[j - 1]]);
                out[j - 1] = Math.abs(change);
                excess[j] = Math.copySign(Math.max(0, out[j - 1] - AIM * in[j - 1]), change);
            }
        }
        return steepest <= STEEP || isCalmer(in, out) ? new double[n] : trims(excess, reach);
    }

    /**
     * @param excess what the correction adds to the change from the frame before, more than is wanted
     * @param reach  how far a trim may go
     */
    private static double[] trims(double[] excess, double[] reach) {
        int n = excess.length;
        double[] trim = new double[n];
        double[] sum = new double[n];
        for (int round = 0; round < ROUNDS; round++) {
            for (int j = 1; j < n; j++) {
                // From one frame to the next a trim may go as far as it may at all. What is more than that is let pass: the string takes it for no change.
                double over = Math.abs(trim[j] - trim[j - 1]) - Math.min(reach[j], reach[j - 1]);
                double kept = Math.min(Math.min(reach[j], reach[j - 1]), Math.abs(excess[j]));
                excess[j] = Math.copySign(Math.max(0, kept - Math.max(0, over)), excess[j]);
                sum[j] = sum[j - 1] + excess[j];
            }
            double[] string = TautString.through(sum, reach);
            for (int j = 0; j < n; j++) {
                trim[j] = string[j] - sum[j];
            }
        }
        return trim;
    }

    /** True when changes are smaller than others on the whole, at their largest, and at their usual largest. */
    private static boolean isCalmer(double[] in, double[] out) {
        Arrays.sort(in);
        Arrays.sort(out);
        int n = in.length;
        return n == 0 || out[n - 1] <= CALM * in[n - 1] && out[n - 1 - n / 20] <= CALM * in[n - 1 - n / 20]
            && Arrays.stream(out).sum() <= CALM * Arrays.stream(in).sum();
    }
}
