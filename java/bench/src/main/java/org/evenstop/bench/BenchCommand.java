// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.io.IOException;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.List;
import java.util.Locale;
import java.util.Set;
import java.util.concurrent.Callable;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.level.CodeDepth;
import picocli.CommandLine;
import picocli.CommandLine.Command;
import picocli.CommandLine.ITypeConverter;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Spec;
import picocli.CommandLine.TypeConversionException;

/** {@code evenstop bench}: kernels, general libraries, the plug-in in its host and renders. */
@Command(name = "bench", mixinStandardHelpOptions = true, sortOptions = false,
    description = "Times the kernels on UHD frames, interleaved and warm, beside a copy of the same frame, the same maths in C and general"
        + " libraries, the plug-in in the bundled test host, and renders beside decoding and encoding alone.",
    footer = {"", "evenstop bench jmh [options of JMH]   runs the JMH benchmarks instead; -prof gc shows what is allocated.",
        "Exit codes: 0 done, 1 a budget is missed (--check) or a picture is wrong, 2 wrong use."})
final class BenchCommand implements Callable<Integer> {
    /** A part of the run. */
    enum Part {
        FLOAT("float"), HALF("half"), SHORT("16"), BYTE("8"), S422("422"), S420("420"), S444("444"), HOST("host"), BATCH("batch");

        private final String word;

        Part(String word) {
            this.word = word;
        }
    }

    /** Takes the words of {@link Part}. */
    static final class PartWord implements ITypeConverter<Part> {
        @Override
        public Part convert(String text) {
            List<String> words = new ArrayList<>();
            for (Part part : Part.values()) {
                if (part.word.equals(text)) {
                    return part;
                }
                words.add(part.word);
            }
            throw new TypeConversionException("'" + text + "' is no part of the bench; give " + String.join(", ", words));
        }
    }

    private static final int COLD_RUNS = 10;
    private static final int STEADY_RUNS = 10;
    /** A process takes 4 frames, now and then 26, until all is compiled; the host draws each, which takes it much longer. */
    private static final int STEADY_FRAMES = 49;

    @Option(names = "--json", description = "Results as JSON.")
    private boolean json;

    @Option(names = "--check", description = "Exit code 1 when a budget is missed; each is named.")
    private boolean check;

    @Option(names = "--only", paramLabel = "PART", split = ",", converter = PartWord.class,
        description = "Only these parts: float, half, 16, 8 (RGBA), 422, 420, 444 (planar), host, batch (renders). Repeatable or with commas.")
    private List<Part> only = List.of();

    @Spec
    private CommandSpec spec;

    @Override
    public Integer call() throws IOException, InterruptedException {
        Set<Part> parts = only.isEmpty() ? EnumSet.allOf(Part.class) : EnumSet.copyOf(only);
        Results results = new Results();
        CommandLine line = spec.commandLine();
        Machine machine = Machine.here();
        try (KernelBench bench = new KernelBench(results, what -> line.getErr().println("timing " + what))) {
            if (parts.contains(Part.FLOAT)) {
                bench.rgbaFloat();
            }
            for (Part part : List.of(Part.HALF, Part.SHORT, Part.BYTE)) {
                if (parts.contains(part)) {
                    bench.packed(SampleDepth.valueOf(part.name()));
                }
            }
            if (parts.contains(Part.S422)) {
                bench.planar(ChromaSampling.S422, CodeDepth.BITS10);
            }
            if (parts.contains(Part.S420)) {
                bench.planar(ChromaSampling.S420, CodeDepth.BITS8);
            }
            if (parts.contains(Part.S444)) {
                bench.planar(ChromaSampling.S444, CodeDepth.BITS10);
            }
            Budgets.judge(results, machine);
            if (!only.isEmpty()) {
                results.forgetUnmeasured();
            }
            if (parts.contains(Part.HOST)) {
                line.getErr().println("timing the plug-in in its host");
                host(bench, results);
            }
        }
        if (parts.contains(Part.BATCH)) {
            line.getErr().println("timing renders");
            BatchRenders.time(results);
        }
        return Main.report(line, machine, results, "evenstop bench", json, check);
    }

    private static void host(KernelBench bench, Results results) throws IOException, InterruptedException {
        try (Host host = Host.open()) {
            if (host == null) {
                results.absent("the plug-in in its host: build/bin/ofxhost or build/Evenstop.ofx.bundle is not built");
                return;
            }
            HostBudgets.cold(host, results, COLD_RUNS);
            for (int threads = 1; threads <= 2; threads++) {
                HostBudgets.steady(host, bench, results, threads, STEADY_RUNS, STEADY_FRAMES);
            }
            Host.Run anew = host.run(KernelBench.WIDTH + "x" + KernelBench.HEIGHT, "float", 2, Host.Threads.NEW, STEADY_FRAMES, true, false);
            results.add("in host, the same, threads made anew for each call", anew.steady(), "ms",
                String.format(Locale.ROOT, "%.2f x copy (%.2f ms)", anew.steady() / anew.copy(), anew.copy()));
        }
    }
}
