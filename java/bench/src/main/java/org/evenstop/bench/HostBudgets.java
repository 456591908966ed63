// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.io.IOException;
import java.util.function.ToDoubleFunction;

/** What a cold process costs until its first picture. */
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

    static double median(Host.Run[] runs, ToDoubleFunction<Host.Run> value) {
        double[] values = new double[runs.length];
        for (int i = 0; i < runs.length; i++) {
            values[i] = value.applyAsDouble(runs[i]);
        }
        return Row.median(values);
    }
}
