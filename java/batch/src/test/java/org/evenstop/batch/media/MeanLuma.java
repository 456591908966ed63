// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.nio.file.Path;
import java.util.ArrayList;
import java.util.DoubleSummaryStatistics;
import java.util.List;
import java.util.stream.DoubleStream;
import java.util.stream.IntStream;
import org.evenstop.engine.frame.PlanarFrame;

/** Mean luma of the decoded frames of a file, in percent: what light that drifts does to a clip. */
public final class MeanLuma {
    private MeanLuma() {
    }

    /** One mean a frame, in order. */
    public static double[] ofFrames(Path clip) {
        List<Double> means = new ArrayList<>();
        try (ClipReader reader = ClipReader.open(clip)) {
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                PlanarFrame p = frame.picture();
                long sum = 0;
                for (int y = 0; y < p.height(); y++) {
                    for (int x = 0; x < p.width(); x++) {
                        sum += p.lumaCode(x, y);
                    }
                }
                means.add(100 * p.depth().levelOfCode(sum / (double) (p.width() * p.height())));
                frame.release();
            }
        }
        return means.stream().mapToDouble(Double::doubleValue).toArray();
    }

    /** How far each differs from the one before, smallest first. */
    public static double[] changes(double[] means) {
        return IntStream.range(1, means.length).mapToDouble(i -> Math.abs(means[i] - means[i - 1])).sorted().toArray();
    }

    /** The mean of the changes from one to the next. */
    public static double meanChange(double[] means) {
        return DoubleStream.of(changes(means)).average().orElse(0);
    }

    /** The change that 95 % of the changes do not exceed. */
    public static double usualLargestChange(double[] means) {
        double[] changes = changes(means);
        return changes[(int) Math.ceil(0.95 * changes.length) - 1];
    }

    public static double largestChange(double[] means) {
        double[] changes = changes(means);
        return changes[changes.length - 1];
    }

    /** The highest less the lowest. */
    public static double range(double[] means) {
        DoubleSummaryStatistics all = DoubleStream.of(means).summaryStatistics();
        return all.getMax() - all.getMin();
    }
}
