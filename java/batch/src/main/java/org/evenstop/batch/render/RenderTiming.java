// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.IOException;
import java.lang.management.ManagementFactory;
import java.nio.ByteBuffer;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.ArrayBlockingQueue;
import java.util.concurrent.BlockingQueue;
import java.util.concurrent.atomic.AtomicReference;
import java.util.function.UnaryOperator;
import java.util.stream.Stream;
import org.evenstop.batch.demo.DemoClip;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.ClipWriter;
import org.evenstop.batch.media.DecodedFrame;
import org.evenstop.batch.media.DecodedFrameTimes;
import org.evenstop.batch.media.OutputCodec;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.solve.Correction;

/**
 * Times renders of a clip of the demo shoot beside decoding and encoding alone, in turn in this process. What {@code evenstop bench} starts
 * for its part {@code batch}; the result is a JSON object on the standard output.
 *
 * <p>An encoder takes longer for a bright picture than for a dark one. So what is encoded "alone" are the pictures that a render encodes,
 * corrected beforehand; the same with the clip's own pictures is timed as well.
 */
public final class RenderTiming implements AutoCloseable {
    private static final OutputCodec CODEC = OutputCodec.PRORES_HQ;
    /** Between reading and writing alone: with the one in hand as many frames as in a render. */
    private static final int QUEUE = 4;
    /**
     * Frames that are corrected beforehand, spread over the clip; of more, memory would run out. Neighbours are much alike, but the clip's end takes the
     * encoder longer than its beginning.
     */
    private static final int KEPT = 12;
    /** The solver runs once in a render: it takes several until it is compiled, as in a folder of clips. */
    private static final int FEWEST_WARM_PASSES = 6;
    private static final int MOST_WARM_PASSES = 10;

    private final Path folder;
    private final Path clip;
    private final Path output;
    private final Path correctionFile;
    private final int frames;
    private final int threads;
    private final ClipRender render;
    private final ClipMeasure measured;
    private final List<DecodedFrame> kept = new ArrayList<>();
    /** Of the last render. */
    private Correction used;

    RenderTiming(int width, int height, int frames) throws IOException {
        this.frames = frames;
        threads = Runtime.getRuntime().availableProcessors();
        folder = Files.createTempDirectory("evenstop-batch-timing");
        clip = folder.resolve("clip." + CODEC.extension());
        output = folder.resolve("clip.evenstop." + CODEC.extension());
        correctionFile = folder.resolve("clip.correction.json");
        DemoClip.writeDark(clip, CODEC, width, height, frames, threads);
        render = new ClipRender(new ClipRender.Settings(CODEC, EvenstopFiles.profile("cinema-soft"), EvenstopFiles.preset("even"), 1f, true,
            threads), (stage, done, all) -> { });
        try (ClipReader reader = ClipReader.open(clip)) {
            measured = ClipMeasure.of(reader, (stage, done, all) -> { });
        }
    }

    /** Where the clips are while this is open. */
    Path folder() {
        return folder;
    }

    /**
     * @param args width, height, frames of the clip, rounds
     */
    public static void main(String[] args) throws IOException {
        int[] numbers = new int[args.length];
        for (int i = 0; i < args.length; i++) {
            numbers[i] = Integer.parseInt(args[i]);
        }
        try (RenderTiming timing = new RenderTiming(numbers[0], numbers[1], numbers[2])) {
            System.out.println(timing.run(numbers[3]));
        }
        // FFmpeg keeps threads of its own.
        System.exit(0);
    }

    String run(int rounds) {
        Map<String, Runnable> passes = new LinkedHashMap<>();
        passes.put("decode", this::decode);
        passes.put("decodeAndEncodeSource", this::decodeAndEncodeSource);
        passes.put("decodeAndEncode", this::decodeAndEncodeResult);
        passes.put("render", this::render);
        passes.put("measureAndRender", this::measureAndRender);
        ObjectNode root = new ObjectMapper().createObjectNode();
        render();
        ClipReader holder = corrected();
        try {
            prove();
            warm(passes.values());
            passes.keySet().forEach(root::putObject);
            for (int round = 0; round < rounds; round++) {
                passes.forEach((name, pass) -> {
                    ObjectNode times = (ObjectNode) root.get(name);
                    long cpu = processCpuNanos();
                    times.withArray("ms").add(millis(pass));
                    times.withArray("cpuMs").add((processCpuNanos() - cpu) / 1e6);
                });
            }
            prove();
        } finally {
            kept.forEach(DecodedFrame::release);
            holder.close();
        }
        return root.toString();
    }

    /** Until compilers are done and the kernel that works in the background has taken over: a render is no longer quicker than the last. */
    private void warm(Iterable<Runnable> passes) {
        passes.forEach(Runnable::run);
        double last = Double.MAX_VALUE;
        for (int i = 0; i < MOST_WARM_PASSES; i++) {
            double now = millis(this::render);
            if (i >= FEWEST_WARM_PASSES && now > 0.98 * last) {
                return;
            }
            last = now;
        }
    }

    private static double millis(Runnable pass) {
        long from = System.nanoTime();
        pass.run();
        return (System.nanoTime() - from) / 1e6;
    }

    private void render() {
        used = render.run(clip, output, correctionFile, new ClipRender.MeasuredAhead(measured, 0)).correction();
    }

    private void measureAndRender() {
        used = render.run(clip, output, correctionFile).correction();
    }

    private void decode() {
        try (ClipReader reader = ClipReader.open(clip)) {
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                frame.release();
            }
        }
    }

    private void decodeAndEncodeSource() {
        decodeAndEncode(frame -> frame);
    }

    private void decodeAndEncodeResult() {
        decodeAndEncode(frame -> kept.get((int) (frame.index() * kept.size() / frames)));
    }

    /** On two threads with a bounded queue between, as a render. */
    private void decodeAndEncode(UnaryOperator<DecodedFrame> pictureFor) {
        BlockingQueue<Optional<DecodedFrame>> decoded = new ArrayBlockingQueue<>(QUEUE);
        AtomicReference<RuntimeException> failure = new AtomicReference<>();
        try (ClipReader reader = ClipReader.open(clip); ClipWriter writer = ClipWriter.create(output, CODEC, reader, true)) {
            Thread decoding = new Thread(() -> {
                try {
                    Optional<DecodedFrame> frame;
                    do {
                        frame = Optional.ofNullable(reader.next());
                        decoded.put(frame);
                    } while (frame.isPresent());
                } catch (RuntimeException failed) {
                    failure.set(failed);
                    decoded.clear();
                    decoded.add(Optional.empty());
                } catch (InterruptedException stopped) {
                    Thread.currentThread().interrupt();
                }
            }, "evenstop-decode");
            decoding.setDaemon(true);
            decoding.start();
            try {
                for (Optional<DecodedFrame> next = decoded.take(); next.isPresent(); next = decoded.take()) {
                    writer.write(pictureFor.apply(next.get()), DecodedFrameTimes.of(next.get()));
                    next.get().release();
                }
            } finally {
                // A writer that fails leaves it waiting for room; it must be gone before its reader is closed.
                decoding.interrupt();
                decoding.join();
            }
            if (failure.get() != null) {
                throw failure.get();
            }
            writer.finish();
        } catch (InterruptedException stopped) {
            throw new IllegalStateException("interrupted while timing", stopped);
        }
    }

    private long[] keptFrames() {
        return ClipReader.picks(KEPT, frames);
    }

    /** The scalar kernel's pictures of the kept frames, as a lossless clip that is decoded and held. */
    private ClipReader corrected() {
        Path lossless = folder.resolve("corrected." + OutputCodec.FFV1.extension());
        ScalarKernel scalar = new ScalarKernel();
        try (ClipReader reader = ClipReader.open(clip); ClipWriter writer = ClipWriter.create(lossless, OutputCodec.FFV1, reader, true)) {
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                if (Arrays.binarySearch(keptFrames(), frame.index()) >= 0) {
                    ClipWriter.EncodedFrame target = writer.lend();
                    scalar.apply(frame.picture(), target.picture(), 0, target.picture().height(), used, 1f);
                    writer.write(target, DecodedFrameTimes.of(frame));
                }
                frame.release();
            }
            writer.finish();
        }
        ClipReader reader = ClipReader.open(lossless);
        for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
            kept.add(frame);
        }
        return reader;
    }

    /** The render that is there must be the scalar kernel's pictures in the same codec. */
    private void prove() {
        Path truth = folder.resolve("truth." + CODEC.extension());
        try (ClipReader reader = ClipReader.open(clip); ClipWriter writer = ClipWriter.create(truth, CODEC, reader, true)) {
            for (DecodedFrame picture : kept) {
                DecodedFrame frame = reader.next();
                writer.write(picture, DecodedFrameTimes.of(frame));
                frame.release();
            }
            writer.finish();
        }
        try (ClipReader wanted = ClipReader.open(truth); ClipReader got = ClipReader.open(output)) {
            for (DecodedFrame a = wanted.next(); a != null; a = wanted.next()) {
                long index = keptFrames()[(int) a.index()];
                DecodedFrame b = got.next();
                while (b.index() < index) {
                    b.release();
                    b = got.next();
                }
                if (!isSame(a.picture(), b.picture())) {
                    throw new IllegalStateException("frame " + index + " of the render is not the scalar kernel's");
                }
                a.release();
                b.release();
            }
        }
    }

    private static boolean isSame(PlanarFrame a, PlanarFrame b) {
        int rows = a.sampling().chromaHeight(a.height());
        int columns = a.sampling().chromaWidth(a.width());
        return isSame(a.luma(), a.lumaStride(), b.luma(), b.lumaStride(), 2 * a.width(), a.height())
            && isSame(a.cb(), a.chromaStride(), b.cb(), b.chromaStride(), 2 * columns, rows)
            && isSame(a.cr(), a.chromaStride(), b.cr(), b.chromaStride(), 2 * columns, rows);
    }

    private static boolean isSame(ByteBuffer a, int strideA, ByteBuffer b, int strideB, int rowBytes, int rows) {
        for (int y = 0; y < rows; y++) {
            if (!a.slice(y * strideA, rowBytes).equals(b.slice(y * strideB, rowBytes))) {
                return false;
            }
        }
        return true;
    }

    private static long processCpuNanos() {
        return ManagementFactory.getOperatingSystemMXBean() instanceof com.sun.management.OperatingSystemMXBean system ? system.getProcessCpuTime() : -1;
    }

    @Override
    public void close() throws IOException {
        try (Stream<Path> inside = Files.list(folder)) {
            for (Path file : inside.toList()) {
                Files.delete(file);
            }
        }
        Files.delete(folder);
    }
}
