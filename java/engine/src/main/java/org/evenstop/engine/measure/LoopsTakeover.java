// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.nio.ByteBuffer;
import java.util.Arrays;
import java.util.function.Supplier;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.kernel.Rehearsals;
import org.evenstop.engine.kernel.ScratchPictures;
import org.evenstop.engine.kernel.Services;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;

/**
 * The one place where the loops of measuring are chosen, as kernels are and by the same wish ({@link Kernels#wanted}): those for wide
 * registers are services of {@link MeasureLoops}. The scalar loops measure until {@link Rehearsals} have shown that the others come to the
 * same bits and are faster. One frame alone starts nothing.
 */
final class LoopsTakeover {
    private static final int SAMPLINGS = ChromaSampling.values().length;
    private static final int PACKED_KINDS = SampleDepth.values().length;
    private static final int KINDS = PACKED_KINDS + 2 * SAMPLINGS;
    static final int WIDTH = 1920;
    private static final int LINES = 8;

    private final MeasureLoops scalar = new ScalarLoops();
    /** What measures all the same; null where {@link #rehearsals} decide. */
    private final MeasureLoops alone;
    private final Rehearsals<MeasureLoops> rehearsals;

    /** @param loader finds faster loops, or null; called once, on the background thread; may throw */
    LoopsTakeover(Supplier<MeasureLoops> loader) {
        alone = null;
        rehearsals = new Rehearsals<>("loops for measuring", "evenstop-measure", KINDS, false, loader);
    }

    /** @param named null for the scalar ones */
    private LoopsTakeover(MeasureLoops named) {
        alone = named == null ? scalar : named;
        rehearsals = null;
    }

    /** The choice of this process. */
    static LoopsTakeover chosen() {
        return Holder.CHOSEN;
    }

    private static final class Holder {
        static final LoopsTakeover CHOSEN = choose(Kernels.wanted());
    }

    static LoopsTakeover choose(String wanted) {
        if (wanted.equals("auto") && Services.isPresent(MeasureLoops.class)) {
            return new LoopsTakeover(() -> service("auto"));
        }
        MeasureLoops named = wanted.equals("auto") || wanted.equals("scalar") ? null : service(wanted);
        return new LoopsTakeover(named);
    }

    private static MeasureLoops service(String wanted) {
        return Services.find(MeasureLoops.class, "loops for measuring", wanted, MeasureLoops::name);
    }

    MeasureLoops loopsFor(PackedFrame frame) {
        return frame.components() == Components.RGBA ? loops(frame.depth().ordinal(), frame.depth(), null) : scalar;
    }

    MeasureLoops loopsFor(PlanarFrame frame) {
        return loops(PACKED_KINDS + 2 * frame.sampling().ordinal() + (frame.depth() == CodeDepth.BITS8 ? 1 : 0), null, frame);
    }

    private MeasureLoops loops(int kind, SampleDepth depth, PlanarFrame planar) {
        if (rehearsals == null) {
            return alone;
        }
        MeasureLoops faster = rehearsals.readyFor(kind);
        if (faster == null && rehearsals.isOpen(kind)) {
            rehearsals.ask(kind, new Lines(scalar, depth, planar));
        }
        return faster == null ? scalar : faster;
    }

    /** Whether anything was asked of the faster loops; for tests. */
    boolean isStarted() {
        return rehearsals != null && rehearsals.isStarted();
    }

    /** Whether frames like this are left to the faster loops; for tests. */
    boolean isReady(PackedFrame frame) {
        return rehearsals == null ? alone != scalar : rehearsals.isReady(frame.depth().ordinal());
    }

    boolean isRefused(PackedFrame frame) {
        return rehearsals == null ? alone == scalar : rehearsals.isRefused(frame.depth().ordinal());
    }

    /** What loops wrote. */
    private static final class Found {
        final MeasuredRow row = new MeasuredRow(WIDTH);
        final int[][] codes = new int[2][WIDTH + MeasureLoops.CODES_BEYOND];
        /** Fine detail, its blocks and their sums, coarse detail. */
        final int[][] tiles = new int[4][WIDTH + MeasureLoops.CODES_BEYOND];

        boolean isSame(Found other) {
            MeasuredRow a = row;
            MeasuredRow b = other.row;
            return Arrays.equals(a.luma, b.luma) && Arrays.equals(a.lumaSteps, b.lumaSteps) && Arrays.equals(a.red, b.red)
                && Arrays.equals(a.green, b.green) && Arrays.equals(a.blue, b.blue) && Arrays.equals(a.siteSteps, b.siteSteps)
                && Arrays.equals(a.redSteps, b.redSteps) && Arrays.equals(a.greenSteps, b.greenSteps)
                && Arrays.equals(a.blueSteps, b.blueSteps) && Arrays.equals(a.chroma, b.chroma) && Arrays.equals(a.skin, b.skin)
                && Arrays.deepEquals(codes, other.codes) && Arrays.deepEquals(tiles, other.tiles) && a.lowest == b.lowest
                && a.highest == b.highest && a.stepSum == b.stepSum && a.counted == b.counted;
        }
    }

    /** One kind of frame, on scratch memory. */
    private static final class Lines implements Rehearsals.Piece<MeasureLoops> {
        private final MeasureLoops scalar;
        private final SampleDepth depth;
        private final ChromaSampling sampling;
        private final CodeDepth codeDepth;

        /** Shapes only: the frames belong to someone else. */
        Lines(MeasureLoops scalar, SampleDepth depth, PlanarFrame planar) {
            this.scalar = scalar;
            this.depth = depth;
            sampling = planar == null ? null : planar.sampling();
            codeDepth = planar == null ? null : planar.depth();
        }

        @Override
        public String play(MeasureLoops faster) {
            PackedFrame packed = depth == null ? null : packed();
            PlanarFrame planar = depth == null ? planar() : null;
            Found truth = new Found();
            Found result = new Found();
            return Rehearsals.contest(faster.name(), () -> time(rows(packed, planar, scalar), truth), () -> time(rows(packed, planar, faster), result),
                () -> truth.isSame(result));
        }

        private static PixelRows rows(PackedFrame packed, PlanarFrame planar, MeasureLoops loops) {
            return packed != null ? PixelRows.of(packed, LumaStandard.BT709, loops, true) : PixelRows.of(planar, loops, true);
        }

        private static long time(PixelRows rows, Found into) {
            MeasuredRow row = into.row;
            for (int[] sums : into.tiles) {
                Arrays.fill(sums, 0);
            }
            long begin = System.nanoTime();
            row.begin();
            for (int line = 0; line < LINES; line += 2) {
                rows.read(line, 0, WIDTH, row);
                rows.loops.ofLuma(row, 0, WIDTH, into.codes[line >> 1 & 1]);
                rows.loops.ofSites(row, rows.standard, rows.siteShift, 0, rows.sites(line));
            }
            int[][] tiles = into.tiles;
            rows.loops.addFine(into.codes[0], into.codes[1], 0, WIDTH, tiles[0], tiles[1], tiles[2]);
            rows.loops.addCoarse(tiles[1], into.codes[0], 0, WIDTH, tiles[3]);
            return System.nanoTime() - begin;
        }

        private PackedFrame packed() {
            PackedFrame frame = ScratchPictures.packed(WIDTH, LINES, Components.RGBA, depth, AlphaState.OPAQUE);
            ScratchPictures.paint(frame);
            return frame;
        }

        private PlanarFrame planar() {
            int bytes = codeDepth.bytesPerSample();
            int chromaStride = sampling.chromaWidth(WIDTH) * bytes;
            int chromaBytes = chromaStride * sampling.chromaHeight(LINES);
            PlanarFrame frame = new PlanarFrame(ByteBuffer.allocateDirect(WIDTH * bytes * LINES), ByteBuffer.allocateDirect(chromaBytes),
                ByteBuffer.allocateDirect(chromaBytes), WIDTH * bytes, chromaStride, WIDTH, LINES, sampling, codeDepth, LumaStandard.BT709,
                false, true, true);
            ScratchPictures.paint(frame);
            return frame;
        }

        @Override
        public String toString() {
            return depth == null ? sampling + " " + codeDepth : "RGBA " + depth;
        }
    }
}
