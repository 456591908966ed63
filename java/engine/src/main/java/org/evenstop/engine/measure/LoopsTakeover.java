// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.lang.System.Logger;
import java.lang.System.Logger.Level;
import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.util.Arrays;
import java.util.Iterator;
import java.util.ServiceConfigurationError;
import java.util.ServiceLoader;
import java.util.concurrent.BlockingQueue;
import java.util.concurrent.LinkedBlockingQueue;
import java.util.concurrent.atomic.AtomicIntegerArray;
import java.util.function.Supplier;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.kernel.SampleIo;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;

/**
 * The one place where the loops of measuring are chosen, as kernels are and by the same wish ({@link Kernels#wanted}): those for wide
 * registers are {@link ServiceLoader} services of {@link MeasureLoops}. The scalar loops measure until faster ones are compiled, on one
 * background thread and rows of their own, and have shown that they come to the same bits and are faster. One frame alone starts
 * nothing.
 */
final class LoopsTakeover {
    private static final Logger LOG = System.getLogger("org.evenstop.kernel");
    private static final int UNSEEN = 0;
    private static final int SEEN = 1;
    private static final int WAITING = 2;
    private static final int READY = 3;
    private static final int REFUSED = 4;
    private static final int SAMPLINGS = ChromaSampling.values().length;
    private static final int PACKED_KINDS = SampleDepth.values().length;
    private static final int KINDS = PACKED_KINDS + 2 * SAMPLINGS;
    static final int WIDTH = 1920;
    private static final int LINES = 8;
    private static final long HEAD_START_MILLIS = 400;
    private static final int LEAST_ROUNDS = 40;
    private static final int MOST_ROUNDS = 4000;

    private final MeasureLoops scalar = new ScalarLoops();
    private final Supplier<MeasureLoops> loader;
    private final AtomicIntegerArray states = new AtomicIntegerArray(KINDS);
    private final BlockingQueue<Rehearsal> queue = new LinkedBlockingQueue<>();
    private boolean started;
    /** Used where the state says so. */
    private volatile MeasureLoops faster;
    private volatile boolean refused;

    /** @param loader finds faster loops, or null; called once, on the background thread; may throw */
    LoopsTakeover(Supplier<MeasureLoops> loader) {
        this.loader = loader;
    }

    /** The choice of this process. */
    static LoopsTakeover chosen() {
        return Holder.CHOSEN;
    }

    private static final class Holder {
        static final LoopsTakeover CHOSEN = choose(Kernels.wanted());
    }

    static LoopsTakeover choose(String wanted) {
        LoopsTakeover choice = new LoopsTakeover(() -> service("auto"));
        if (wanted.equals("auto")
            && LoopsTakeover.class.getClassLoader().getResource("META-INF/services/" + MeasureLoops.class.getName()) != null) {
            return choice;
        }
        choice.refused = true;
        MeasureLoops named = wanted.equals("auto") || wanted.equals(choice.scalar.name()) ? null : service(wanted);
        if (named != null) {
            choice.faster = named;
            for (int kind = 0; kind < KINDS; kind++) {
                choice.states.set(kind, READY);
            }
        }
        return choice;
    }

    private static MeasureLoops service(String wanted) {
        Iterator<MeasureLoops> services = ServiceLoader.load(MeasureLoops.class, LoopsTakeover.class.getClassLoader()).iterator();
        while (true) {
            try {
                if (!services.hasNext()) {
                    return null;
                }
                MeasureLoops candidate = services.next();
                if (wanted.equals("auto") || wanted.equals(candidate.name())) {
                    return candidate;
                }
            } catch (ServiceConfigurationError | LinkageError gone) {
                LOG.log(Level.INFO, "loops for measuring refused, the scalar ones serve: {0}", gone.toString());
            }
        }
    }

    MeasureLoops loopsFor(PackedFrame frame) {
        int kind = frame.depth().ordinal();
        int state = frame.components() == Components.RGBA ? states.get(kind) : REFUSED;
        if (state <= SEEN && !refused) {
            seen(kind, new Rehearsal(kind, frame.depth(), null));
        }
        return state == READY ? faster : scalar;
    }

    MeasureLoops loopsFor(PlanarFrame frame) {
        int kind = PACKED_KINDS + 2 * frame.sampling().ordinal() + (frame.depth() == CodeDepth.BITS8 ? 1 : 0);
        int state = states.get(kind);
        if (state <= SEEN && !refused) {
            seen(kind, new Rehearsal(kind, null, frame));
        }
        return state == READY ? faster : scalar;
    }

    private void seen(int kind, Rehearsal rehearsal) {
        if (states.compareAndSet(kind, UNSEEN, SEEN) || !states.compareAndSet(kind, SEEN, WAITING)) {
            return;
        }
        queue.add(rehearsal);
        synchronized (this) {
            if (started) {
                return;
            }
            started = true;
        }
        Thread thread = new Thread(this::rehearse, "evenstop-measure");
        thread.setDaemon(true);
        thread.setPriority(Thread.MIN_PRIORITY);
        thread.start();
    }

    private void rehearse() {
        try {
            Thread.sleep(HEAD_START_MILLIS);
            faster = loader.get();
            if (faster == null) {
                refused = true;
                return;
            }
            while (true) {
                Rehearsal next = queue.take();
                String fault = next.play(scalar, faster);
                states.set(next.kind, fault == null ? READY : REFUSED);
                LOG.log(Level.DEBUG, "loops for measuring, kind {0}: {1}", next.kind, fault == null ? faster.name() : "scalar, " + fault);
            }
        } catch (InterruptedException stopped) {
            Thread.currentThread().interrupt();
        } catch (RuntimeException | LinkageError | OutOfMemoryError failure) {
            // Kinds handed over already have been seen to work; no more are.
            refused = true;
            LOG.log(Level.INFO, "loops for measuring refused, the scalar ones serve: {0}", failure.toString());
        }
    }

    /** Whether anything was asked of the faster loops; for tests. */
    synchronized boolean isStarted() {
        return started;
    }

    /** Whether frames like this are left to the faster loops; for tests. */
    boolean isReady(PackedFrame frame) {
        return states.get(frame.depth().ordinal()) == READY;
    }

    boolean isRefused(PackedFrame frame) {
        return refused || states.get(frame.depth().ordinal()) == REFUSED;
    }

    /** One kind of frame, on scratch memory. */
    private static final class Rehearsal {
        final int kind;
        private final SampleDepth depth;
        private final ChromaSampling sampling;
        private final CodeDepth codeDepth;

        /** Shapes only: the frames belong to someone else. */
        Rehearsal(int kind, SampleDepth depth, PlanarFrame planar) {
            this.kind = kind;
            this.depth = depth;
            sampling = planar == null ? null : planar.sampling();
            codeDepth = planar == null ? null : planar.depth();
        }

        /** Null when the faster loops may serve, else why not. */
        String play(MeasureLoops scalar, MeasureLoops faster) {
            PackedFrame packed = depth == null ? null : packed();
            PlanarFrame planar = depth == null ? planar() : null;
            MeasuredRow truth = new MeasuredRow(WIDTH);
            MeasuredRow result = new MeasuredRow(WIDTH);
            int[] truthCodes = new int[WIDTH];
            int[] resultCodes = new int[WIDTH];
            long truthTime = Long.MAX_VALUE;
            int won = 0;
            for (int round = 0; round < MOST_ROUNDS && won < 5; round++) {
                if (round % 20 == 0) {
                    truthTime = Math.min(truthTime, time(rows(packed, planar, scalar), truth, truthCodes));
                }
                boolean quicker = time(rows(packed, planar, faster), result, resultCodes) < truthTime;
                won = quicker && round >= LEAST_ROUNDS ? won + 1 : 0;
                if (round == LEAST_ROUNDS && !same(truth, result, truthCodes, resultCodes)) {
                    break;
                }
            }
            if (!same(truth, result, truthCodes, resultCodes)) {
                return faster.name() + " loops come to other values";
            }
            return won > 0 ? null : faster.name() + " loops are slower here";
        }

        private static PixelRows rows(PackedFrame packed, PlanarFrame planar, MeasureLoops loops) {
            return packed != null ? PixelRows.of(packed, LumaStandard.BT709, loops, true) : PixelRows.of(planar, loops, true);
        }

        private static long time(PixelRows rows, MeasuredRow into, int[] codes) {
            long begin = System.nanoTime();
            into.begin();
            for (int line = 0; line < LINES; line += 2) {
                rows.read(line, 0, WIDTH, into);
                rows.loops.ofLuma(into, 0, WIDTH, codes);
                rows.loops.ofSites(into, rows.standard, rows.siteShift, 0, rows.sites(line));
            }
            return System.nanoTime() - begin;
        }

        private static boolean same(MeasuredRow a, MeasuredRow b, int[] aCodes, int[] bCodes) {
            return Arrays.equals(a.luma, b.luma) && Arrays.equals(a.lumaSteps, b.lumaSteps) && Arrays.equals(a.red, b.red)
                && Arrays.equals(a.green, b.green) && Arrays.equals(a.blue, b.blue) && Arrays.equals(a.siteSteps, b.siteSteps)
                && Arrays.equals(a.redSteps, b.redSteps) && Arrays.equals(a.greenSteps, b.greenSteps)
                && Arrays.equals(a.blueSteps, b.blueSteps) && Arrays.equals(a.chroma, b.chroma) && Arrays.equals(a.skin, b.skin)
                && Arrays.equals(aCodes, bCodes) && a.lowest == b.lowest && a.highest == b.highest && a.stepSum == b.stepSum
                && a.counted == b.counted;
        }

        /** Levels from below black to above white, in colours that follow no period of the registers. */
        private PackedFrame packed() {
            int stride = WIDTH * 4 * depth.bytes();
            ByteBuffer memory = ByteBuffer.allocateDirect(stride * LINES).order(ByteOrder.nativeOrder());
            PackedFrame frame = new PackedFrame(memory, 0, stride, WIDTH, LINES, Components.RGBA, depth, AlphaState.OPAQUE);
            float[] row = new float[4 * WIDTH];
            for (int y = 0; y < LINES; y++) {
                for (int i = 0; i < row.length; i++) {
                    row[i] = i % 4 == 3 ? 1f : -0.06f + (i * 37 + y * 11) % 1009 / 1009f * 1.15f;
                }
                SampleIo.store(row, row.length, memory, frame.rowOffset(y), depth);
            }
            return frame;
        }

        private PlanarFrame planar() {
            int bytes = codeDepth.bytesPerSample();
            int chromaWidth = sampling.chromaWidth(WIDTH);
            int chromaHeight = sampling.chromaHeight(LINES);
            PlanarFrame frame = new PlanarFrame(ByteBuffer.allocateDirect(WIDTH * bytes * LINES),
                ByteBuffer.allocateDirect(chromaWidth * bytes * chromaHeight), ByteBuffer.allocateDirect(chromaWidth * bytes * chromaHeight),
                WIDTH * bytes, chromaWidth * bytes, WIDTH, LINES, sampling, codeDepth, LumaStandard.BT709, false, true, true);
            int codes = codeDepth.maxCode() + 1;
            for (int y = 0; y < LINES; y++) {
                for (int x = 0; x < WIDTH; x++) {
                    frame.setLumaCode(x, y, (x * 17 + y * 251) % codes);
                }
            }
            for (int y = 0; y < chromaHeight; y++) {
                for (int x = 0; x < chromaWidth; x++) {
                    frame.setCbCode(x, y, (x * 29 + y * 7) % codes);
                    frame.setCrCode(x, y, (x * 13 + y * 101) % codes);
                }
            }
            return frame;
        }
    }
}
