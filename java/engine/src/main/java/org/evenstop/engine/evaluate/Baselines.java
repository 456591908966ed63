// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

import java.util.function.DoubleUnaryOperator;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;

/**
 * General ways of evening out exposure that know nothing of a camera, for comparison. All take a 4:4:4 frame and give a new one of
 * the same kind; codes are held within the video range.
 */
public final class Baselines {
    private Baselines() {
    }

    /** A straight line per channel that brings the percentiles 0.5 and 99.5 of luma to 3 % and 98 % (common practice, no source). */
    public static PlanarFrame stretched(PlanarFrame frame) {
        int[] counts = lumaCounts(frame);
        double low = levelOf(frame, percentileCode(counts, 0.005));
        double high = levelOf(frame, percentileCode(counts, 0.995));
        double slope = 0.95 / Math.max(high - low, 1e-3);
        return perChannel(frame, v -> 0.03 + slope * (v - low));
    }

    /** A power per channel that brings the median of luma to 42 % (common practice, no source); levels below black stay at black. */
    public static PlanarFrame gammaToMedian(PlanarFrame frame) {
        double median = Math.min(Math.max(levelOf(frame, percentileCode(lumaCounts(frame), 0.5)), 0.002), 0.998);
        double power = Math.log(0.42) / Math.log(median);
        return perChannel(frame, v -> v <= 0 ? 0 : Math.pow(v, power));
    }

    /**
     * Histogram equalisation of luma (R. C. Gonzalez and R. E. Woods, Digital Image Processing, 3rd ed. 2008, section 3.3.1) over
     * the codes from black to nominal white; chroma is kept.
     */
    public static PlanarFrame equalised(PlanarFrame frame) {
        int[] map = equalisation(lumaCounts(frame), frame.lumaSpan() + 1);
        PlanarFrame out = frame.allocateLike();
        for (int y = 0; y < frame.height(); y++) {
            for (int x = 0; x < frame.width(); x++) {
                out.setLumaCode(x, y, frame.blackCode() + map[frame.lumaCode(x, y)]);
                out.setCbCode(x, y, frame.cbCode(x, y));
                out.setCrCode(x, y, frame.crCode(x, y));
            }
        }
        return out;
    }

    /**
     * The mapping of histogram equalisation: s = round((levels - 1) CDF(r)), halves upward.
     *
     * @param counts how often each input value occurs, at least one above 0
     * @param levels output values are 0..levels - 1
     */
    static int[] equalisation(int[] counts, int levels) {
        long total = 0;
        for (int c : counts) {
            total += c;
        }
        int[] map = new int[counts.length];
        long sum = 0;
        for (int i = 0; i < counts.length; i++) {
            sum += counts[i];
            map[i] = (int) Math.floor((levels - 1) * (sum / (double) total) + 0.5);
        }
        return map;
    }

    private static int[] lumaCounts(PlanarFrame frame) {
        int[] counts = new int[frame.depth().maxCode() + 1];
        for (int y = 0; y < frame.height(); y++) {
            for (int x = 0; x < frame.width(); x++) {
                counts[frame.lumaCode(x, y)]++;
            }
        }
        return counts;
    }

    /** The smallest code whose cumulative share reaches a share. */
    private static int percentileCode(int[] counts, double share) {
        long total = 0;
        for (int c : counts) {
            total += c;
        }
        long sum = 0;
        for (int i = 0; i < counts.length; i++) {
            sum += counts[i];
            if (sum >= share * total) {
                return i;
            }
        }
        return counts.length - 1;
    }

    private static double levelOf(PlanarFrame frame, int code) {
        return (code - frame.blackCode()) / (double) frame.lumaSpan();
    }

    private static PlanarFrame perChannel(PlanarFrame frame, DoubleUnaryOperator curve) {
        if (frame.sampling() != ChromaSampling.S444) {
            throw new IllegalArgumentException("only 4:4:4 frames are taken");
        }
        PlanarFrame out = frame.allocateLike();
        for (int y = 0; y < frame.height(); y++) {
            for (int x = 0; x < frame.width(); x++) {
                double[] rgb = BlockDifference.rgb(frame, x, y);
                double r = curve.applyAsDouble(rgb[0]);
                double g = curve.applyAsDouble(rgb[1]);
                double b = curve.applyAsDouble(rgb[2]);
                double luma = frame.standard().luma(r, g, b);
                out.setLumaCode(x, y, held(frame, frame.blackCode() + luma * frame.lumaSpan()));
                out.setCbCode(x, y, held(frame, frame.depth().achromaticCode() + (b - luma) / frame.standard().cbDivisor() * frame.chromaSpan()));
                out.setCrCode(x, y, held(frame, frame.depth().achromaticCode() + (r - luma) / frame.standard().crDivisor() * frame.chromaSpan()));
            }
        }
        return out;
    }

    private static int held(PlanarFrame frame, double code) {
        return (int) Math.min(Math.max(Math.floor(code + 0.5), frame.lowestCode()), frame.highestCode());
    }
}
