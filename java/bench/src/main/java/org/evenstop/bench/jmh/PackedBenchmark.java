// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench.jmh;

import java.util.concurrent.TimeUnit;
import org.openjdk.jmh.annotations.Benchmark;
import org.openjdk.jmh.annotations.BenchmarkMode;
import org.openjdk.jmh.annotations.Fork;
import org.openjdk.jmh.annotations.Measurement;
import org.openjdk.jmh.annotations.Mode;
import org.openjdk.jmh.annotations.OutputTimeUnit;
import org.openjdk.jmh.annotations.Warmup;

/** A UHD RGBA frame by every kernel in every pass, beside a copy of it; one thread. */
@BenchmarkMode(Mode.AverageTime)
@OutputTimeUnit(TimeUnit.MILLISECONDS)
@Warmup(iterations = 3, time = 2)
@Measurement(iterations = 5, time = 2)
@Fork(1)
public class PackedBenchmark {
    @Benchmark
    public Object copy(Frames.Packed frame) {
        return frame.destination.memory().put(0, frame.source.memory(), 0, frame.source.memory().capacity());
    }

    @Benchmark
    public Object correct(Frames.Packed frame, Frames.Work work) {
        work.by.apply(frame.source, frame.destination, 0, Frames.HEIGHT, work.correction, 1f);
        return frame.destination;
    }
}
