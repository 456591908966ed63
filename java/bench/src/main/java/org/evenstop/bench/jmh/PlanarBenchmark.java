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

/** A UHD Y'CbCr frame by every kernel in every pass, beside a copy of it; one thread. */
@BenchmarkMode(Mode.AverageTime)
@OutputTimeUnit(TimeUnit.MILLISECONDS)
@Warmup(iterations = 3, time = 2)
@Measurement(iterations = 5, time = 2)
@Fork(1)
public class PlanarBenchmark {
    @Benchmark
    public Object copy(Frames.Planar frame) {
        frame.destination.luma().put(0, frame.source.luma(), 0, frame.source.luma().capacity());
        frame.destination.cb().put(0, frame.source.cb(), 0, frame.source.cb().capacity());
        return frame.destination.cr().put(0, frame.source.cr(), 0, frame.source.cr().capacity());
    }

    @Benchmark
    public Object correct(Frames.Planar frame, Frames.Work work) {
        work.by.apply(frame.source, frame.destination, 0, Frames.HEIGHT, work.correction, 1f);
        return frame.destination;
    }
}
