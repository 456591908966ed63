// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

/**
 * Luma levels of a clip in percent (0 black, 100 nominal white). A percentile p is the smallest level whose cumulative share
 * reaches p. The mean is that of the levels themselves.
 */
public record LevelSummary(double min, double p0_5, double p1, double p10, double p50, double p90, double p99, double p99_5, double max,
                           double mean) {
}
