// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.concurrent.TimeUnit;
import org.evenstop.engine.json.EvenstopFiles;

/** The built plug-in inside {@code ofxhost}: each run is a process of its own, timed by the host itself. */
final class Host implements AutoCloseable {
    private static final long PATIENCE_SECONDS = 300;

    private final Path program;
    private final Path bundle;
    private final Path folder;
    private final Path project;

    /**
     * What one process measured; milliseconds, kilobytes.
     *
     * @param loadMs     opening the binary, Load, Describe, DescribeInContext
     * @param createMs   an instance with the project's parameters
     * @param firstMs    inside the plug-in until the first frame was done, the start of Java included
     * @param coldMs     from the start of the process until then, the host's own work left out
     * @param addedKb    resident memory after the first frame, less that before the plug-in was opened; -1 unknown
     * @param steadyMs   each later frame inside the plug-in
     * @param copyMs     a copy of a frame after each of them, on as many threads
     * @param pressMs    the press of Measure clip without the host's drawing of the frames; NaN when not pressed
     * @param pressFrames that it fetched
     */
    record Run(double loadMs, double createMs, double firstMs, double coldMs, long addedKb, double[] steadyMs, double[] copyMs, double pressMs,
               int pressFrames) {

        /** Median of the later half, when compilers are done. */
        double steady() {
            return Row.median(Arrays.copyOfRange(steadyMs, steadyMs.length / 2, steadyMs.length));
        }

        double copy() {
            return Row.median(Arrays.copyOfRange(copyMs, copyMs.length / 2, copyMs.length));
        }
    }

    private Host(Path program, Path bundle, Path folder) throws IOException, InterruptedException {
        this.program = program;
        this.bundle = bundle;
        this.folder = folder;
        project = folder.resolve("measured.project");
        // A project in which Measure clip was pressed before: the correction that the bare kernels are timed with.
        Answer kept = start(List.of(program.toString(), "render", bundle.toString(), "--in", "pattern:gradient", "--size", "64x48", "--set",
            "correction=" + EvenstopFiles.toJson(Corrections.ALL.correction()), "--save", project.toString(), "--quiet"));
        if (kept.code != 0 || !Files.exists(project)) {
            throw new IOException("ofxhost made no project: " + kept.text.strip());
        }
    }

    /** Null where the plug-in or the host is not built. */
    static Host open() throws IOException, InterruptedException {
        Path build = NativeLibraries.home().resolve("build");
        Path program = build.resolve("bin").resolve("ofxhost");
        Path bundle = build.resolve("Evenstop.ofx.bundle");
        if (!Files.isExecutable(program) || !Files.isDirectory(bundle)) {
            return null;
        }
        return new Host(program, bundle, Files.createTempDirectory("evenstop-bench"));
    }

    /** Whether the host's multithread suite keeps its threads from one call to the next, as hosts do (common practice, no source), or makes them anew for each. */
    enum Threads { KEPT, NEW }

    /** As {@link #run(String, String, int, Threads, int, boolean, boolean)} with threads that are kept. */
    Run run(String size, String depth, int threads, int frames, boolean kept, boolean press) throws IOException, InterruptedException {
        return run(size, depth, threads, Threads.KEPT, frames, kept, press);
    }

    /**
     * @param size   e.g. {@code 1920x1080}
     * @param depth  {@code byte}, {@code short}, {@code half}, {@code float}
     * @param frames 1 or more, the first included
     * @param kept   the project keeps a correction; otherwise the plug-in must work one out from the frame it is given
     * @param press  Measure clip at the end
     * @throws IOException when the run fails or the plug-in complains: then its times mean nothing
     */
    Run run(String size, String depth, int threads, Threads which, int frames, boolean kept, boolean press) throws IOException, InterruptedException {
        List<String> command = new ArrayList<>(List.of(program.toString(), "bench", bundle.toString(), "--size", size, "--depth", depth,
            "--threads", Integer.toString(threads), "--frames", "0-" + (frames - 1)));
        if (which == Threads.KEPT) {
            command.add("--keep-threads");
        }
        if (kept) {
            command.addAll(List.of("--load", project.toString()));
        }
        if (press) {
            command.addAll(List.of("--press", "measureClip"));
        }
        double started = System.nanoTime() / 1e6;
        Answer answer = start(command);
        if (answer.code != 0) {
            throw new IOException("ofxhost bench failed: " + answer.text.strip());
        }
        JsonNode node = new ObjectMapper().readTree(answer.text);
        if (!node.path("complaints").isEmpty() || node.path("rendered").asInt() != frames) {
            throw new IOException("the plug-in did not render " + frames + " frames of " + size + " " + depth + " as it should: "
                + node.path("complaints"));
        }
        double fromMain = node.path("fromMainMs").asDouble();
        // On Linux the two clocks are one, and what the system needs to start a process is counted too.
        double fromStart = node.path("doneAtMs").asDouble() - started - node.path("hostMs").asDouble();
        boolean sameClock = fromStart >= fromMain && fromStart < fromMain + 1000;
        long before = node.path("residentBeforeKb").asLong();
        double press1 = press ? node.path("pressMs").asDouble() - node.path("pressFetches").asInt() * node.path("drawMs").asDouble() : Double.NaN;
        return new Run(node.path("openMs").asDouble() + node.path("describeMs").asDouble(), node.path("createMs").asDouble(),
            node.path("firstFrameMs").asDouble(), sameClock ? fromStart : fromMain,
            before < 0 ? -1 : node.path("residentAfterFirstKb").asLong() - before, numbers(node.path("steadyMs")), numbers(node.path("copyMs")),
            press1, node.path("pressFetches").asInt());
    }

    private static double[] numbers(JsonNode array) {
        double[] values = new double[array.size()];
        for (int i = 0; i < values.length; i++) {
            values[i] = array.get(i).asDouble();
        }
        return values;
    }

    private record Answer(int code, String text) {
    }

    private Answer start(List<String> command) throws IOException, InterruptedException {
        Path said = folder.resolve("said.txt");
        Path complained = folder.resolve("complained.txt");
        // Java's own words (options picked up, modules that are incubating) go to the error stream.
        Process process = new ProcessBuilder(command).redirectOutput(said.toFile()).redirectError(complained.toFile()).start();
        if (!process.waitFor(PATIENCE_SECONDS, TimeUnit.SECONDS)) {
            process.destroyForcibly();
            throw new IOException("ofxhost did not end within " + PATIENCE_SECONDS + " s");
        }
        int code = process.exitValue();
        return new Answer(code, Files.readString(code == 0 ? said : complained, StandardCharsets.UTF_8));
    }

    @Override
    public void close() throws IOException {
        Files.deleteIfExists(project);
        Files.deleteIfExists(folder.resolve("said.txt"));
        Files.deleteIfExists(folder.resolve("complained.txt"));
        Files.deleteIfExists(folder);
    }
}
