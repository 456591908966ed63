// SPDX-License-Identifier: Apache-2.0
/**
 * How fast the kernels are, as ratios to a copy of the same frame in the same run: {@code evenstop bench}, {@code evenstop plugin
 * bench}, and JMH benchmarks in {@link org.evenstop.bench.jmh}. What each row means stands in docs/speed.md.
 */
package org.evenstop.bench;
