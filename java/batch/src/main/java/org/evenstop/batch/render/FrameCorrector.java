// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutionException;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import org.evenstop.batch.media.OutputCodec;
import org.evenstop.batch.media.PictureShape;
import org.evenstop.batch.media.PlaneConversion;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.solve.Correction;

/**
 * Takes a decoded frame to the frame that is encoded: up to the working depth and sampling, through the correction, down to the
 * encoder's, each step in bands on a bounded pool. Steps that would change nothing are left out, so a lossless render with
 * strength 0 gives the very codes of the source. One caller at a time; no frame memory is allocated after construction.
 */
public final class FrameCorrector implements AutoCloseable {
    private final Correction clipCorrection;
    private final float strength;
    private final PictureShape working;
    private final CorrectionKernel kernel = Kernels.chosen();
    private final ExecutorService pool;
    private final List<Band> before;
    private final List<Band> corrections;
    private final List<Band> holding;
    private final List<Band> after;
    private final PlanarFrame raised;
    private final PlanarFrame corrected;
    private boolean interlaced;
    private Correction correction;

    /** One step on one band of rows; its frames are set before it is run. */
    private final class Band implements Callable<Void> {
        private final PlaneConversion conversion;
        private final int rowFrom;
        private final int rowTo;
        private PlanarFrame from;
        private PlanarFrame to;

        Band(PlaneConversion conversion, int rowFrom, int rowTo) {
            this.conversion = conversion;
            this.rowFrom = rowFrom;
            this.rowTo = rowTo;
        }

        @Override
        public Void call() {
            if (conversion == null) {
                kernel.apply(from, to, rowFrom, rowTo, correction, strength);
            } else {
                conversion.run(from, to, interlaced, rowFrom, rowTo);
            }
            return null;
        }
    }

    /**
     * @param source   shape of the decoded frames
     * @param strength 0..1
     * @param threads  1 or more
     */
    public FrameCorrector(PictureShape source, OutputCodec codec, Correction correction, float strength, int threads) {
        clipCorrection = correction;
        this.strength = strength;
        working = codec.workingShape(source);
        PictureShape encoded = codec.encodedShape(source);
        boolean up = PlaneConversion.isNeeded(source, working);
        boolean down = PlaneConversion.isNeeded(working, encoded);
        before = up ? bands(source, working, threads) : List.of();
        corrections = bands(null, working, threads);
        // A kernel copies codes as they are when there is nothing to correct; only a lossless encoder may be given all of them.
        holding = codec == OutputCodec.FFV1 ? corrections : bands(working, working, threads);
        after = down ? bands(working, encoded, threads) : List.of();
        raised = up ? working.allocate() : null;
        corrected = down ? working.allocate() : null;
        pool = Executors.newFixedThreadPool(threads, task -> {
            Thread thread = new Thread(task, "evenstop-correct");
            thread.setDaemon(true);
            return thread;
        });
    }

    private List<Band> bands(PictureShape from, PictureShape to, int threads) {
        List<Band> bands = new ArrayList<>();
        int pairs = (to.height() + 1) / 2;
        int count = Math.min(threads, pairs);
        for (int i = 0; i < count; i++) {
            int rowFrom = 2 * (int) ((long) pairs * i / count);
            int rowTo = Math.min(to.height(), 2 * (int) ((long) pairs * (i + 1) / count));
            bands.add(new Band(from == null ? null : new PlaneConversion(from, to), rowFrom, rowTo));
        }
        return bands;
    }

    Correction clipCorrection() {
        return clipCorrection;
    }

    /** Whether source and target may be the same memory. */
    boolean worksInPlace(Correction own) {
        return raised == null && corrected == null && working.sampling().shiftY() == 0 && changes(own);
    }

    private boolean changes(Correction own) {
        return strength != 0f && !own.isIdentity();
    }

    /**
     * @param source   not written to, unless it is the target, see {@link #worksInPlace}
     * @param target   of the encoder's shape; every code is written
     * @param isFields the frame is two fields
     * @param own      the correction of this frame
     */
    public void run(PlanarFrame source, PlanarFrame target, boolean isFields, Correction own) {
        interlaced = isFields;
        correction = own;
        List<Band> middle = changes(own) ? corrections : holding;
        PlanarFrame from = source;
        if (raised != null) {
            step(before, from, raised);
            from = raised;
        }
        if (corrected == null) {
            step(middle, from, target);
        } else {
            step(middle, from, corrected);
            step(after, corrected, target);
        }
    }

    private void step(List<Band> bands, PlanarFrame from, PlanarFrame to) {
        for (Band band : bands) {
            band.from = from;
            band.to = to;
        }
        if (bands.size() == 1) {
            bands.get(0).call();
            return;
        }
        try {
            for (Future<Void> done : pool.invokeAll(bands)) {
                done.get();
            }
        } catch (InterruptedException interrupted) {
            Thread.currentThread().interrupt();
            throw new IllegalStateException("interrupted while correcting a frame", interrupted);
        } catch (ExecutionException failed) {
            throw failed.getCause() instanceof RuntimeException cause ? cause : new IllegalStateException(failed.getCause());
        }
    }

    @Override
    public void close() {
        pool.shutdown();
    }
}
