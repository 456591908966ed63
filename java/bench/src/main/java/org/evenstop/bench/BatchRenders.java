// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import java.lang.management.ManagementFactory;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.concurrent.TimeUnit;

/**
 * Renders beside decoding and encoding alone, in a process of their own that times itself and answers in JSON, as the plug-in's host does: the
 * command line is started, not linked.
 */
final class BatchRenders {
    /** Where the launcher says the command line's classes are. */
    private static final String CLASS_PATH = "evenstop.batch.classpath";
    private static final String TIMING = "org.evenstop.batch.render.RenderTiming";
    private static final int WIDTH = 1920;
    private static final int HEIGHT = 1080;
    private static final int FRAMES = 96;
    private static final int ROUNDS = 5;
    private static final long PATIENCE_SECONDS = 600;

    private BatchRenders() {
    }

    static void time(Results results) throws IOException, InterruptedException {
        String classPath = System.getProperty(CLASS_PATH, "");
        if (classPath.isBlank()) {
            results.absent("renders: the launcher ./evenstop names the classes of the command line in " + CLASS_PATH);
            results.add(budget(Double.NaN));
            return;
        }
        add(results, new ObjectMapper().readTree(start(classPath)));
    }

    private static String start(String classPath) throws IOException, InterruptedException {
        List<String> command = new ArrayList<>(List.of(Path.of(System.getProperty("java.home"), "bin", "java").toString()));
        // The collector, modules and what else the launcher starts Java with.
        ManagementFactory.getRuntimeMXBean().getInputArguments().stream().filter(option -> !option.contains(CLASS_PATH)).forEach(command::add);
        command.addAll(List.of("-cp", classPath, TIMING, Integer.toString(WIDTH), Integer.toString(HEIGHT), Integer.toString(FRAMES),
            Integer.toString(ROUNDS)));
        Path said = Files.createTempFile("evenstop-bench", ".json");
        Path complained = Files.createTempFile("evenstop-bench", ".txt");
        try {
            Process process = new ProcessBuilder(command).redirectOutput(said.toFile()).redirectError(complained.toFile()).start();
            if (!process.waitFor(PATIENCE_SECONDS, TimeUnit.SECONDS)) {
                process.destroyForcibly();
                throw new IOException("renders did not end within " + PATIENCE_SECONDS + " s");
            }
            if (process.exitValue() != 0) {
                throw new IOException("renders failed: " + Files.readString(complained, StandardCharsets.UTF_8).strip());
            }
            return Files.readString(said, StandardCharsets.UTF_8);
        } finally {
            Files.deleteIfExists(said);
            Files.deleteIfExists(complained);
        }
    }

    /** Lines for the passes and the budget of rendering, from what the timing answers. */
    static void add(Results results, JsonNode times) {
        double alone = median(times, "decodeAndEncode", "ms");
        String of = ", HD 10-bit 4:2:2 ProRes";
        line(results, times, "decode" + of, "decode", alone);
        line(results, times, "decode and encode as it was shot" + of, "decodeAndEncodeSource", alone);
        line(results, times, "decode and encode what is rendered" + of, "decodeAndEncode", alone);
        line(results, times, "render" + of, "render", alone);
        line(results, times, "measure and render" + of, "measureAndRender", alone);
        double decode = cpu(times, "decode");
        double codec = cpu(times, "decodeAndEncode");
        double render = cpu(times, "render");
        results.addBatch("processor time of render" + of, render, "ms", String.format(Locale.ROOT,
            "a frame: decode %.2f, encode %.2f, correct and measure the result %.2f; before, to measure the clip, %.0f ms in all", decode, codec - decode,
            render - codec, FRAMES * (cpu(times, "measureAndRender") - render)));
        results.add(budget(median(times, "render", "ms") / alone));
    }

    private static Budget budget(double measured) {
        return Budget.atMost("render, HD 10-bit 4:2:2 ProRes: time to decoding and encoding alone", Budgets.RENDER_TO_CODEC, measured, "x");
    }

    private static void line(Results results, JsonNode times, String what, String pass, double alone) {
        double ms = median(times, pass, "ms");
        results.addBatch(what, ms / FRAMES, "ms", String.format(Locale.ROOT, "a frame, %.2f x decoding and encoding what is rendered; %d rounds",
            ms / alone, times.path(pass).path("ms").size()));
    }

    private static double cpu(JsonNode times, String pass) {
        return median(times, pass, "cpuMs") / FRAMES;
    }

    private static double median(JsonNode times, String pass, String field) {
        JsonNode array = times.path(pass).path(field);
        double[] values = new double[array.size()];
        for (int i = 0; i < values.length; i++) {
            values[i] = array.get(i).asDouble();
        }
        return Row.median(values);
    }
}
