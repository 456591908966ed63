// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.io.IOException;
import java.util.Locale;
import java.util.concurrent.Callable;
import picocli.CommandLine;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Spec;

/** {@code evenstop plugin bench}: the plug-in in the bundled test host, from cold process to steady frames, each depth, HD and UHD. */
@Command(name = "bench", mixinStandardHelpOptions = true, sortOptions = false,
    description = "Times the plug-in in the bundled test host: load, describe, create, first frame, steady frames beside a copy of the same"
        + " frame, and the press of Measure clip; HD and UHD, each depth, one and two threads.",
    footer = {"", "Exit codes: 0 done, 1 a budget is missed (--check) or the plug-in failed, 2 wrong use."})
final class PluginBenchCommand implements Callable<Integer> {
    private static final int COLD_RUNS = 10;
    private static final String[] DEPTHS = {"float", "half", "short", "byte"};
    private static final String[][] SIZES = {{"HD", "1920x1080", "121"}, {"UHD", "3840x2160", "49"}};

    @Option(names = "--json", description = "Results as JSON.")
    private boolean json;

    @Option(names = "--check", description = "Exit code 1 when a budget is missed; each is named.")
    private boolean check;

    @Spec
    private CommandSpec spec;

    @Override
    public Integer call() throws IOException, InterruptedException {
        Results results = new Results();
        CommandLine line = spec.commandLine();
        try (Host host = Host.open()) {
            if (host == null) {
                line.getErr().println("evenstop plugin bench: build/bin/ofxhost or build/Evenstop.ofx.bundle is not built; run ./evenstop demo"
                    + " once, which builds everything");
                return Main.MISSED;
            }
            line.getErr().println("timing cold processes");
            HostBudgets.cold(host, results, COLD_RUNS);
            for (String[] size : SIZES) {
                for (String depth : DEPTHS) {
                    line.getErr().println("timing " + size[0] + " " + depth);
                    for (int threads = 1; threads <= 2; threads++) {
                        boolean press = threads == 2 && depth.equals("float");
                        Host.Run run = host.run(size[1], depth, threads, Integer.parseInt(size[2]), true, press);
                        String of = size[0] + " " + depth + " frame, " + Budgets.threads(threads);
                        results.add("first " + of, run.firstMs(), "ms", "inside the plug-in, Java's start included");
                        results.add("steady " + of, run.steady(), "ms",
                            String.format(Locale.ROOT, "%.2f x copy (%.2f ms)", run.steady() / run.copy(), run.copy()));
                        if (press) {
                            results.add("Measure clip, " + size[0] + " " + depth, run.pressMs(), "ms",
                                String.format(Locale.ROOT, "%d frames, %.1f ms each, the host's drawing taken off", run.pressFrames(),
                                    run.pressMs() / Math.max(1, run.pressFrames())));
                        }
                    }
                }
            }
        }
        return Main.report(line, Machine.here(), results, "evenstop plugin bench", json, check);
    }
}
