// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.util.function.Supplier;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.solve.Correction;

/**
 * The scalar kernel, and a faster one where {@link Rehearsals} have shown that it is. A kind of work is a layout, depth and alpha, which
 * curves do anything, and how fine they are. The two write the same bits, so the kernel may change in the middle of a frame.
 */
final class Takeover implements CorrectionKernel {
    private static final int BAND_WIDTH = 1920;
    private static final int BAND_ROWS = 8;

    private final CorrectionKernel scalar;
    private final Rehearsals<CorrectionKernel> rehearsals;

    /** @param loader finds the faster kernel, or null; called once, on the background thread; may throw */
    Takeover(CorrectionKernel scalar, Supplier<CorrectionKernel> loader) {
        this.scalar = scalar;
        rehearsals = new Rehearsals<>("kernel", "evenstop-kernel", Kind.COUNT, true, loader);
    }

    @Override
    public String name() {
        CorrectionKernel loaded = rehearsals.loaded();
        return loaded == null ? scalar.name() : loaded.name();
    }

    @Override
    public String description() {
        CorrectionKernel loaded = rehearsals.loaded();
        return loaded == null ? scalar.description() : loaded.description() + ", scalar until it is compiled";
    }

    @Override
    public void apply(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        int kind = Kind.of(source, correction, strength);
        CorrectionKernel faster = rehearsals.readyFor(kind);
        if (faster == null && rehearsals.isOpen(kind)) {
            rehearsals.ask(kind, new Band(scalar, source, null, correction, strength));
        }
        (faster == null ? scalar : faster).apply(source, destination, rowFrom, rowTo, correction, strength);
    }

    @Override
    public void apply(PlanarFrame source, PlanarFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        int kind = Kind.of(source, correction, strength);
        CorrectionKernel faster = rehearsals.readyFor(kind);
        if (faster == null && rehearsals.isOpen(kind)) {
            rehearsals.ask(kind, new Band(scalar, null, source, correction, strength));
        }
        (faster == null ? scalar : faster).apply(source, destination, rowFrom, rowTo, correction, strength);
    }

    /** Whether anything was rehearsed; for tests. */
    boolean isStarted() {
        return rehearsals.isStarted();
    }

    /** Whether a kind is handed over; for tests. */
    boolean isReady(PackedFrame source, Correction correction, float strength) {
        return rehearsals.isReady(Kind.of(source, correction, strength));
    }

    boolean isReady(PlanarFrame source, Correction correction, float strength) {
        return rehearsals.isReady(Kind.of(source, correction, strength));
    }

    boolean isRefused(PackedFrame source, Correction correction, float strength) {
        return rehearsals.isRefused(Kind.of(source, correction, strength));
    }

    /** What decides which loops run, as a number. */
    private static final class Kind {
        private static final int PATTERNS = 2 * 2 * 2 * 2 * 4;
        private static final int PACKED = 4 * 3 * 2;
        private static final int PLANAR = 3 * 2;
        static final int COUNT = (PACKED + PLANAR) * PATTERNS;

        private Kind() {
        }

        static int of(PackedFrame frame, Correction correction, float strength) {
            int alpha = frame.alpha() == AlphaState.PREMULTIPLIED ? 1 : 0;
            return ((frame.depth().ordinal() * 3 + frame.components().ordinal()) * 2 + alpha) * PATTERNS + pattern(correction, strength);
        }

        static int of(PlanarFrame frame, Correction correction, float strength) {
            int eightBit = frame.depth() == CodeDepth.BITS8 ? 1 : 0;
            return (PACKED + frame.sampling().ordinal() * 2 + eightBit) * PATTERNS + pattern(correction, strength);
        }

        private static int pattern(Correction correction, float strength) {
            int segments = Math.max(correction.tone().segmentCount(), Math.max(correction.chromaIn().segmentCount(),
                correction.chromaOut().segmentCount()));
            int fineness = segments <= 16 ? 0 : segments <= 32 ? 1 : segments <= 64 ? 2 : 3;
            int active = (correction.chromaIn().isConstant(1) ? 0 : 1) + (correction.chromaOut().isConstant(1) ? 0 : 2)
                + (correction.tone().isIdentity() ? 0 : 4) + (strength == 1f ? 0 : 8);
            return active * 4 + fineness;
        }
    }

    /** One kind of work, on scratch memory. */
    private static final class Band implements Rehearsals.Piece<CorrectionKernel> {
        private final CorrectionKernel scalar;
        private final PackedFrame packed;
        private final PlanarFrame planar;
        private final Correction correction;
        private final float strength;

        Band(CorrectionKernel scalar, PackedFrame packed, PlanarFrame planar, Correction correction, float strength) {
            this.scalar = scalar;
            // Shapes only: the frames belong to someone else.
            this.packed = packed == null ? null : like(packed);
            this.planar = planar == null ? null : ScratchPictures.planar(BAND_WIDTH, BAND_ROWS, planar);
            this.correction = correction;
            this.strength = strength;
        }

        private static PackedFrame like(PackedFrame frame) {
            return ScratchPictures.packed(BAND_WIDTH, BAND_ROWS, frame.components(), frame.depth(), frame.alpha());
        }

        @Override
        public String play(CorrectionKernel faster) {
            if (packed != null) {
                ScratchPictures.paint(packed);
                PackedFrame truth = like(packed);
                PackedFrame result = like(packed);
                return Rehearsals.contest(faster.name(), () -> time(scalar, truth, null), () -> time(faster, result, null),
                    () -> truth.memory().equals(result.memory()));
            }
            ScratchPictures.paint(planar);
            PlanarFrame truth = ScratchPictures.planar(BAND_WIDTH, BAND_ROWS, planar);
            PlanarFrame result = ScratchPictures.planar(BAND_WIDTH, BAND_ROWS, planar);
            return Rehearsals.contest(faster.name(), () -> time(scalar, null, truth), () -> time(faster, null, result), () -> same(truth, result));
        }

        private static boolean same(PlanarFrame a, PlanarFrame b) {
            return a.luma().equals(b.luma()) && a.cb().equals(b.cb()) && a.cr().equals(b.cr());
        }

        private long time(CorrectionKernel kernel, PackedFrame packedInto, PlanarFrame planarInto) {
            long begin = System.nanoTime();
            if (packed != null) {
                kernel.apply(packed, packedInto, 0, BAND_ROWS, correction, strength);
            } else {
                kernel.apply(planar, planarInto, 0, BAND_ROWS, correction, strength);
            }
            return System.nanoTime() - begin;
        }

        @Override
        public String toString() {
            return packed == null ? planar.sampling() + " " + planar.depth() : packed.components() + " " + packed.depth() + " " + packed.alpha();
        }
    }
}
