// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.lang.System.Logger;
import java.lang.System.Logger.Level;
import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.util.concurrent.BlockingQueue;
import java.util.concurrent.LinkedBlockingQueue;
import java.util.concurrent.atomic.AtomicBoolean;
import java.util.concurrent.atomic.AtomicIntegerArray;
import java.util.function.Supplier;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.solve.Correction;

/**
 * Lets the scalar kernel answer at once and a faster one take over when it is ready: compiled kernels for wide registers are
 * very slow until the virtual machine has compiled them, half a second after their first use.
 *
 * <p>Each kind of work (layout, depth, alpha, which curves do anything, how fine they are) is rehearsed on a scratch band by
 * one background thread, beside the scalar kernel. It is handed over when the faster kernel is the faster one in fact and has
 * written the same bits; a kernel that writes others, or fails, is not used again in this process. Since both write the same
 * bits, it does not matter when, or in the middle of which frame, that happens.
 */
final class Takeover implements CorrectionKernel {
    private static final Logger LOG = System.getLogger("org.evenstop.kernel");
    private static final int UNSEEN = 0;
    private static final int WAITING = 1;
    private static final int READY = 2;
    private static final int REFUSED = 3;
    private static final int BAND_WIDTH = 1920;
    private static final int BAND_ROWS = 8;
    private static final long HEAD_START_MILLIS = 400;
    private static final int LEAST_ROUNDS = 40;
    private static final int MOST_ROUNDS = 4000;

    private final CorrectionKernel scalar;
    private final Supplier<CorrectionKernel> loader;
    private final AtomicIntegerArray states = new AtomicIntegerArray(Kind.COUNT);
    private final BlockingQueue<Rehearsal> queue = new LinkedBlockingQueue<>();
    private final AtomicBoolean started = new AtomicBoolean();
    /** Null until it is loaded, for ever where it is refused. */
    private volatile CorrectionKernel faster;
    private volatile boolean refused;

    /** @param loader finds the faster kernel, or null; called once, on the background thread; may throw */
    Takeover(CorrectionKernel scalar, Supplier<CorrectionKernel> loader) {
        this.scalar = scalar;
        this.loader = loader;
    }

    @Override
    public String name() {
        CorrectionKernel loaded = faster;
        return loaded == null ? scalar.name() : loaded.name();
    }

    @Override
    public String description() {
        CorrectionKernel loaded = faster;
        return loaded == null ? scalar.description() : loaded.description() + ", scalar until it is compiled";
    }

    @Override
    public void apply(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        int kind = Kind.of(source, correction, strength);
        if (states.get(kind) == READY) {
            faster.apply(source, destination, rowFrom, rowTo, correction, strength);
            return;
        }
        if (states.get(kind) == UNSEEN && !refused) {
            request(new Rehearsal(kind, source, null, correction, strength));
        }
        scalar.apply(source, destination, rowFrom, rowTo, correction, strength);
    }

    @Override
    public void apply(PlanarFrame source, PlanarFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        int kind = Kind.of(source, correction, strength);
        if (states.get(kind) == READY) {
            faster.apply(source, destination, rowFrom, rowTo, correction, strength);
            return;
        }
        if (states.get(kind) == UNSEEN && !refused) {
            request(new Rehearsal(kind, null, source, correction, strength));
        }
        scalar.apply(source, destination, rowFrom, rowTo, correction, strength);
    }

    private void request(Rehearsal rehearsal) {
        if (!states.compareAndSet(rehearsal.kind, UNSEEN, WAITING)) {
            return;
        }
        queue.add(rehearsal);
        if (started.compareAndSet(false, true)) {
            Thread thread = new Thread(this::rehearse, "evenstop-kernel");
            thread.setDaemon(true);
            thread.setPriority(Thread.MIN_PRIORITY);
            thread.start();
        }
    }

    private void rehearse() {
        try {
            // The first frames have the machine to themselves.
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
                LOG.log(Level.DEBUG, "kernel for {0}: {1}", next, fault == null ? faster.description() : "scalar, " + fault);
            }
        } catch (InterruptedException stopped) {
            Thread.currentThread().interrupt();
        } catch (RuntimeException | LinkageError | OutOfMemoryError failure) {
            // Kinds handed over already have been seen to work; no more are.
            refused = true;
            LOG.log(Level.INFO, "kernel refused, the scalar one serves: {0}", failure.toString());
        }
    }

    /** Whether a kind is handed over; for tests. */
    boolean isReady(PackedFrame source, Correction correction, float strength) {
        return states.get(Kind.of(source, correction, strength)) == READY;
    }

    boolean isReady(PlanarFrame source, Correction correction, float strength) {
        return states.get(Kind.of(source, correction, strength)) == READY;
    }

    boolean isRefused(PackedFrame source, Correction correction, float strength) {
        return refused || states.get(Kind.of(source, correction, strength)) == REFUSED;
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
    private static final class Rehearsal {
        final int kind;
        private final PackedFrame packed;
        private final PlanarFrame planar;
        private final Correction correction;
        private final float strength;

        Rehearsal(int kind, PackedFrame packed, PlanarFrame planar, Correction correction, float strength) {
            this.kind = kind;
            // Shapes only: the frames belong to someone else.
            this.packed = packed == null ? null : scratch(packed.components(), packed.depth(), packed.alpha());
            this.planar = planar == null ? null : PlanarFrame.allocate(BAND_WIDTH, BAND_ROWS, planar.sampling(), planar.depth(),
                planar.standard(), planar.fullRange(), planar.chromaCosited(), planar.chromaTop());
            this.correction = correction;
            this.strength = strength;
        }

        private static PackedFrame scratch(Components components, SampleDepth depth, AlphaState alpha) {
            int stride = BAND_WIDTH * components.count() * depth.bytes();
            ByteBuffer memory = ByteBuffer.allocateDirect(stride * BAND_ROWS).order(ByteOrder.nativeOrder());
            return new PackedFrame(memory, 0, stride, BAND_WIDTH, BAND_ROWS, components, depth, alpha);
        }

        /** Null when the faster kernel may serve, else why not. */
        String play(CorrectionKernel scalar, CorrectionKernel faster) {
            fill();
            PackedFrame packedTruth = packed == null ? null : scratch(packed.components(), packed.depth(), packed.alpha());
            PackedFrame packedResult = packed == null ? null : scratch(packed.components(), packed.depth(), packed.alpha());
            PlanarFrame planarTruth = planar == null ? null : planar.allocateLike();
            PlanarFrame planarResult = planar == null ? null : planar.allocateLike();
            long truthTime = Long.MAX_VALUE;
            int won = 0;
            for (int round = 0; round < MOST_ROUNDS && won < 5; round++) {
                if (round % 20 == 0) {
                    truthTime = Math.min(truthTime, time(scalar, packedTruth, planarTruth));
                }
                boolean quicker = time(faster, packedResult, planarResult) < truthTime;
                won = quicker && round >= LEAST_ROUNDS ? won + 1 : 0;
            }
            if (!(packed == null ? same(planarTruth, planarResult) : packedTruth.memory().equals(packedResult.memory()))) {
                return "for " + faster.name() + " writes other values";
            }
            return won > 0 ? null : "for " + faster.name() + " is slower here";
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

        /** Levels from below black to above white, in colours that follow no period of the registers. */
        private void fill() {
            if (packed == null) {
                int codes = planar.depth().maxCode() + 1;
                for (int y = 0; y < BAND_ROWS; y++) {
                    for (int x = 0; x < BAND_WIDTH; x++) {
                        planar.setLumaCode(x, y, (x * 17 + y * 251) % codes);
                    }
                }
                for (int y = 0; y < planar.sampling().chromaHeight(BAND_ROWS); y++) {
                    for (int x = 0; x < planar.sampling().chromaWidth(BAND_WIDTH); x++) {
                        planar.setCbCode(x, y, (x * 29 + y * 7) % codes);
                        planar.setCrCode(x, y, (x * 13 + y * 101) % codes);
                    }
                }
                return;
            }
            int channels = packed.components().count();
            float[] row = new float[BAND_WIDTH * channels];
            for (int y = 0; y < BAND_ROWS; y++) {
                for (int i = 0; i < row.length; i++) {
                    row[i] = channels == 4 && i % 4 == 3 ? (i / 4 + y) % 5 * 0.25f : -0.06f + (i * 37 + y * 11) % 1009 / 1009f * 1.15f;
                }
                SampleIo.store(row, row.length, packed.memory(), packed.rowOffset(y), packed.depth());
            }
        }

        @Override
        public String toString() {
            return packed == null ? planar.sampling() + " " + planar.depth() : packed.components() + " " + packed.depth() + " " + packed.alpha();
        }
    }
}
