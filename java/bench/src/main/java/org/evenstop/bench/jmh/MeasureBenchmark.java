// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench.jmh;

import java.util.concurrent.TimeUnit;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.openjdk.jmh.annotations.Benchmark;
import org.openjdk.jmh.annotations.BenchmarkMode;
import org.openjdk.jmh.annotations.Fork;
import org.openjdk.jmh.annotations.Measurement;
import org.openjdk.jmh.annotations.Mode;
import org.openjdk.jmh.annotations.OutputTimeUnit;
import org.openjdk.jmh.annotations.Warmup;

/** A UHD frame measured as the first of a clip is, which keeps a whole sample; the copies to compare with are those of the other benchmarks. One thread. */
@BenchmarkMode(Mode.AverageTime)
@OutputTimeUnit(TimeUnit.MILLISECONDS)
@Warmup(iterations = 3, time = 2)
@Measurement(iterations = 5, time = 2)
@Fork(1)
public class MeasureBenchmark {
    @Benchmark
    public Object packed(Frames.Packed frame) {
        ClipMeter meter = new ClipMeter(LumaStandard.BT709);
        meter.add(frame.source, 0);
        return meter;
    }

    @Benchmark
    public Object planar(Frames.Planar frame) {
        ClipMeter meter = new ClipMeter(LumaStandard.BT709);
        meter.add(frame.source, 0);
        return meter;
    }
}
