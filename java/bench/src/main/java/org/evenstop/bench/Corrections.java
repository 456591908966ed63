// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.evenstop.engine.solve.Solver;

/** The corrections that are timed: what the solver makes of the test picture, and its parts alone. */
public enum Corrections {
    /** All three curves, as solved with profile {@code cinema-soft} and preset {@code even}. */
    ALL("three curves"),
    TONE("tone only"),
    /** One factor of chroma: the solver makes no second where tones stay. */
    CHROMA("chroma only"),
    IDENTITY("identity");

    private final String label;

    Corrections(String label) {
        this.label = label;
    }

    public String label() {
        return label;
    }

    public Correction correction() {
        Correction all = Solved.ALL;
        Curve one = Curve.constant(1);
        return switch (this) {
            case ALL -> all;
            case TONE -> new Correction(one, all.tone(), one, LumaStandard.BT709, CorrectionOrigin.none());
            case CHROMA -> new Correction(one, Curve.identity(), all.chromaOut(), LumaStandard.BT709, CorrectionOrigin.none());
            case IDENTITY -> Correction.identity(LumaStandard.BT709);
        };
    }

    /** Solved once, from a small copy of the picture. */
    private static final class Solved {
        static final Correction ALL = solve();

        private static Correction solve() {
            PackedFrame small = TestPicture.packed(480, 270, SampleDepth.FLOAT);
            ClipMeter meter = new ClipMeter(LumaStandard.BT709, 8192);
            meter.add(small, 0);
            Correction solved = Solver.solve(meter.finish("test picture"), EvenstopFiles.profile("cinema-soft"), EvenstopFiles.preset("even"));
            if (solved.chromaIn().isConstant(1) || solved.chromaOut().isConstant(1) || solved.tone().isIdentity()) {
                throw new IllegalStateException("the solved correction leaves a curve out, so the benchmark would not time all three");
            }
            return solved;
        }
    }
}
