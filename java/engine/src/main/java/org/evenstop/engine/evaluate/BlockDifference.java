// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

import java.util.Arrays;
import org.evenstop.engine.colour.Ciede2000;
import org.evenstop.engine.colour.Lab;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;

/**
 * CIEDE2000 between two pictures on 8x8 block means, so that noise does not count.
 *
 * @param mean   over the blocks; 0 where there is none
 * @param p95    95th percentile over the blocks
 * @param blocks blocks that were compared
 */
public record BlockDifference(double mean, double p95, int blocks) {
    /** Pixels across a block. */
    public static final int SIZE = 8;

    /**
     * Compares two 4:4:4 frames of one size. Levels are averaged as levels, then shown on a BT.1886 display.
     *
     * @param counts {@code [height][width]}, which pixels count; a block counts where half of its pixels do
     */
    public static BlockDifference of(PlanarFrame a, PlanarFrame b, boolean[] counts) {
        if (a.width() != b.width() || a.height() != b.height() || counts.length != a.width() * a.height()) {
            throw new IllegalArgumentException("frames of " + a.width() + "x" + a.height() + " and " + b.width() + "x" + b.height()
                + " with " + counts.length + " marks do not fit together");
        }
        if (a.sampling() != ChromaSampling.S444 || b.sampling() != ChromaSampling.S444) {
            throw new IllegalArgumentException("only 4:4:4 frames are compared");
        }
        int blocks = 0;
        double[] differences = new double[(a.width() / SIZE + 1) * (a.height() / SIZE + 1)];
        for (int by = 0; by + SIZE <= a.height(); by += SIZE) {
            for (int bx = 0; bx + SIZE <= a.width(); bx += SIZE) {
                double[] sumA = new double[3];
                double[] sumB = new double[3];
                int n = 0;
                for (int y = by; y < by + SIZE; y++) {
                    for (int x = bx; x < bx + SIZE; x++) {
                        if (counts[y * a.width() + x]) {
                            n++;
                            addRgb(a, x, y, sumA);
                            addRgb(b, x, y, sumB);
                        }
                    }
                }
                if (n >= SIZE * SIZE / 2) {
                    differences[blocks++] = Ciede2000.difference(Lab.ofBt709(sumA[0] / n, sumA[1] / n, sumA[2] / n),
                        Lab.ofBt709(sumB[0] / n, sumB[1] / n, sumB[2] / n));
                }
            }
        }
        if (blocks == 0) {
            return new BlockDifference(0, 0, 0);
        }
        double[] sorted = Arrays.copyOf(differences, blocks);
        Arrays.sort(sorted);
        double sum = 0;
        for (double d : sorted) {
            sum += d;
        }
        return new BlockDifference(sum / blocks, sorted[(int) (0.95 * (blocks - 1))], blocks);
    }

    /** Levels R', G', B' of a pixel of a 4:4:4 frame. */
    public static double[] rgb(PlanarFrame f, int x, int y) {
        double[] rgb = new double[3];
        addRgb(f, x, y, rgb);
        return rgb;
    }

    private static void addRgb(PlanarFrame f, int x, int y, double[] sum) {
        double luma = (f.lumaCode(x, y) - f.blackCode()) / (double) f.lumaSpan();
        double cb = (f.cbCode(x, y) - f.depth().achromaticCode()) / (double) f.chromaSpan();
        double cr = (f.crCode(x, y) - f.depth().achromaticCode()) / (double) f.chromaSpan();
        double r = luma + f.standard().crDivisor() * cr;
        double b = luma + f.standard().cbDivisor() * cb;
        sum[0] += r;
        sum[1] += (luma - f.standard().redWeight() * r - f.standard().blueWeight() * b) / f.standard().greenWeight();
        sum[2] += b;
    }
}
