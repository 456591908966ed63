// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.solve.Correction;

/** Rows for RGBA frames of one depth: copy, kernels, C. All read one frame and write another. */
final class PackedRows {
    final PackedFrame source;
    final PackedFrame destination;
    private final String format;
    private final List<Crew> crews;
    private final long from;
    private final long to;
    final List<Row> rows = new ArrayList<>();

    /** @param crews one for each number of threads that is timed */
    PackedRows(int width, int height, SampleDepth depth, List<Crew> crews) {
        source = TestPicture.packed(width, height, depth);
        destination = TestPicture.emptyPacked(width, height, depth);
        format = name(depth);
        this.crews = crews;
        from = TestPicture.address(source.memory());
        to = TestPicture.address(destination.memory());
        add("copy", "memcpy", (a, b) -> CLibrary.copyRows(source, destination, from, to, a, b),
            () -> Proofs.same("memcpy", source, destination));
    }

    static String name(SampleDepth depth) {
        return switch (depth) {
            case BYTE -> "rgba 8";
            case SHORT -> "rgba 16";
            default -> "rgba " + depth.name().toLowerCase(Locale.ROOT);
        };
    }

    private void add(String pass, String by, Crew.Bands bands, Row.Proof proof) {
        for (int i = 0; i < crews.size(); i++) {
            Crew crew = crews.get(i);
            rows.add(new Row(format, pass, by, i + 1, () -> crew.run(bands, source.height()),
                () -> bands.rows(0, source.height()), proof));
        }
    }

    void kernel(CorrectionKernel kernel, Corrections pass) {
        Correction correction = pass.correction();
        String who = kernel.name() + " kernel, " + format + ", " + pass.label();
        add(pass.label(), kernel.name(), (a, b) -> kernel.apply(source, destination, a, b, correction, 1f), () -> {
            if (pass == Corrections.IDENTITY) {
                Proofs.same(who, source, destination);
            } else {
                Proofs.packed(who, source, destination, correction, Proofs.KERNEL_BOUND);
            }
        });
    }

    /** The C reference; float only. */
    void inC(boolean forThisProcessor) {
        Correction correction = Corrections.ALL.correction();
        CurvesInC c = new CurvesInC(correction, forThisProcessor);
        String who = forThisProcessor ? "C -O3 -march=native" : "C -O3";
        long stride = source.strideBytes();
        int width = source.width();
        add(Corrections.ALL.label(), who, (a, b) -> c.rgba(from + a * stride, to + a * stride, (long) (b - a) * width),
            () -> Proofs.packed(who, source, destination, correction, Proofs.ROUNDING));
    }

    /** A library's own way over the whole frame; it is told the number of threads when it is made. */
    void library(String pass, String by, int threads, Runnable frame, Row.Proof proof) {
        rows.add(new Row(format, pass, by, threads, frame, frame, proof));
    }

    /** A library that leaves threads to its caller. */
    void library(String pass, String by, Crew.Bands bands, Row.Proof proof) {
        add(pass, by, bands, proof);
    }
}
