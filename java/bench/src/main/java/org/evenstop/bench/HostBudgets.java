// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.io.IOException;
import java.util.Arrays;
import java.util.Locale;
import java.util.function.DoubleSupplier;
import java.util.function.ToDoubleFunction;

/** What the plug-in costs in its host: a cold process until its first picture, and every later one. */
final class HostBudgets {
    private HostBudgets() {
    }

    /** Cold processes one after another; medians, with their budgets. */
    static void cold(Host host, Results results, int runs) throws IOException, InterruptedException {
        host.run("1920x1080", "float", 2, 1, true, false); // the files are in the system's memory from here on
        Host.Run[] kept = new Host.Run[runs];
        Host.Run[] unmeasured = new Host.Run[Math.min(runs, 5)];
        for (int i = 0; i < runs; i++) {
            kept[i] = host.run("1920x1080", "float", 2, 1, true, false);
            if (i < unmeasured.length) {
                unmeasured[i] = host.run("1920x1080", "float", 2, 1, false, false);
            }
        }
        double load = median(kept, Host.Run::loadMs);
        double cold = median(kept, Host.Run::coldMs);
        double added = median(kept, r -> r.addedKb() < 0 ? Double.NaN : r.addedKb() / 1024.0);
        String of = "median of " + runs + " processes";
        results.add("in host, load and describe", load, "ms", of + ", no Java started");
        results.add("in host, create an instance", median(kept, Host.Run::createMs), "ms", of);
        results.add("in host, cold process to first HD float frame", cold, "ms", of + ", correction kept in the project, 2 threads");
        results.add("in host, of that inside the plug-in", median(kept, Host.Run::firstMs), "ms", of + ", Java's start included");
        results.add("in host, the same before Measure clip was pressed", median(unmeasured, Host.Run::coldMs), "ms",
            "median of " + unmeasured.length + " processes; the frame is measured and solved first");
        results.add("in host, resident memory added by the first frame", added, "MB", of + ", frames not counted");
        results.add(Budget.atMost("in host, load and describe", Budgets.LOAD_MS, load, "ms"));
        results.add(Budget.atMost("in host, cold process to first HD float frame", Budgets.COLD_MS, cold, "ms"));
        results.add(Budget.atMost("in host, resident memory added before the first vector frame", Budgets.ADDED_MB, added, "MB"));
    }

    /** Processes one after another, the bare kernel timed between them: medians, with their budget. */
    static void steady(Host host, KernelBench bench, Results results, int threads, int runs, int frames) throws IOException, InterruptedException {
        Host.Run[] kept = new Host.Run[runs];
        double[] bare = new double[runs];
        double[] ratios = new double[runs];
        DoubleSupplier bareMs = bench.bareFloat(threads);
        double before = bareMs.getAsDouble();
        for (int i = 0; i < runs; i++) {
            kept[i] = host.run(KernelBench.WIDTH + "x" + KernelBench.HEIGHT, "float", threads, frames, true, false);
            double after = bareMs.getAsDouble();
            bare[i] = 0.5 * (before + after);
            ratios[i] = kept[i].steady() / bare[i];
            before = after;
        }
        String of = "UHD float frame, " + Budgets.threads(threads);
        Arrays.sort(ratios);
        results.add("in host, steady " + of, median(kept, Host.Run::steady), "ms", String.format(Locale.ROOT,
            "median of %d processes; %.2f x copy; bare kernel between them %.2f ms, time to it %.2f to %.2f x", runs, median(kept, r -> r.steady() / r.copy()),
            Row.median(bare), ratios[0], ratios[runs - 1]));
        results.add(Budget.atMost("in host, steady " + of + ": time to the bare kernel", Budgets.HOST_TO_BARE, Row.median(ratios), "x"));
    }

    static double median(Host.Run[] runs, ToDoubleFunction<Host.Run> value) {
        double[] values = new double[runs.length];
        for (int i = 0; i < runs.length; i++) {
            values[i] = value.applyAsDouble(runs[i]);
        }
        return Row.median(values);
    }
}
