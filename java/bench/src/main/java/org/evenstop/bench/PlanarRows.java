// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import com.sun.jna.Memory;
import java.util.ArrayList;
import java.util.List;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.solve.Correction;

/** Rows for planar Y'CbCr frames of one sampling and depth. */
final class PlanarRows {
    private final PlanarFrame source;
    private final PlanarFrame destination;
    private final String format;
    private final List<Crew> crews;
    final List<Row> rows = new ArrayList<>();

    PlanarRows(int width, int height, ChromaSampling sampling, CodeDepth depth, List<Crew> crews) {
        source = TestPicture.planar(width, height, sampling, depth);
        destination = TestPicture.emptyPlanar(width, height, sampling, depth);
        format = name(sampling, depth);
        this.crews = crews;
        long[] from = CLibrary.planes(source);
        long[] to = CLibrary.planes(destination);
        add("copy", "memcpy", (a, b) -> CLibrary.copyRows(source, from, to, a, b), () -> Proofs.same("memcpy", source, destination));
    }

    static String name(ChromaSampling sampling, CodeDepth depth) {
        return "yuv " + sampling.name().substring(1) + " " + depth.bits();
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
        PlanarFrame truth = pass == Corrections.IDENTITY ? source : Proofs.truth(source, correction);
        // Within 1/8 of a code a rounded one differs at most once in four, were the fractions spread evenly.
        add(pass.label(), kernel.name(), (a, b) -> kernel.apply(source, destination, a, b, correction, 1f),
            () -> Proofs.planar(who, truth, destination, pass == Corrections.IDENTITY ? 0 : 0.25));
    }

    /** The C reference; 4:2:2 at 10 bit only. */
    void inC(boolean forThisProcessor) {
        Correction correction = Corrections.ALL.correction();
        CurvesInC c = new CurvesInC(correction, forThisProcessor);
        String who = forThisProcessor ? "C -O3 -march=native" : "C -O3";
        Memory block = CurvesInC.planarBlock(source, destination);
        PlanarFrame truth = Proofs.truth(source, correction);
        add(Corrections.ALL.label(), who, (a, b) -> c.planar(block, a, b), () -> Proofs.planar(who, truth, destination, 1e-4));
    }
}
