// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.PrintWriter;
import java.util.Locale;

/** Results as a table for people or as JSON. */
final class Report {
    private Report() {
    }

    static void table(PrintWriter out, Machine machine, Results results, String title) {
        out.println(title);
        machine.lines().forEach(line -> out.println("  " + line));
        if (!results.timings().isEmpty()) {
            out.println();
            out.printf(Locale.ROOT, "%-11s %-14s %-22s %9s %7s %9s %7s %8s %11s%n", "frame", "pass", "by", "1 thr ms", "x copy", "2 thr ms",
                "x copy", "scaling", "bytes/frame");
        }
        String format = "";
        for (Row.Timing t : results.timings()) {
            boolean single = t.threads() == 1;
            if (!single) {
                continue;
            }
            if (!t.format().equals(format) && !format.isEmpty()) {
                out.println();
            }
            format = t.format();
            double two = results.ms(t.format(), t.pass(), t.by(), 2);
            out.printf(Locale.ROOT, "%-11s %-14s %-22s %9s %7s %9s %7s %8s %11s%n", t.format(), t.pass(), t.by(), number(t.medianMs(), "%.2f"),
                number(t.medianMs() / results.copyMs(t.format(), 1), "%.2f"), number(two, "%.2f"),
                number(two / results.copyMs(t.format(), 2), "%.2f"), number(t.medianMs() / two, "%.2f"),
                t.allocated() < 0 ? "-" : Long.toString(t.allocated()));
        }
        Results.Value.Part part = null;
        for (Results.Value v : results.values()) {
            if (v.part() != part) {
                out.println();
                part = v.part();
            }
            out.printf(Locale.ROOT, "%-58s %10s %-3s %s%n", v.what(), number(v.value(), "%.2f"), v.unit(), v.note());
        }
        if (!results.absent().isEmpty()) {
            out.println();
            results.absent().forEach(why -> out.println("not measured: " + why));
        }
        out.println();
        for (Budget b : results.budgets()) {
            out.printf(Locale.ROOT, "%-12s %-86s %12s  %s%n", b.verdict(), b.what(), b.measuredText(), b.limitText());
        }
    }

    private static String number(double value, String form) {
        return Double.isNaN(value) ? "-" : String.format(Locale.ROOT, form, value);
    }

    static String json(Machine machine, Results results, String command) {
        ObjectMapper mapper = new ObjectMapper();
        ObjectNode root = mapper.createObjectNode();
        root.put("kind", "bench").put("command", command);
        root.set("machine", machine.json(mapper));
        var rows = root.putArray("rows");
        for (Row.Timing t : results.timings()) {
            ObjectNode row = rows.addObject().put("frame", t.format()).put("pass", t.pass()).put("by", t.by()).put("threads", t.threads())
                .put("rounds", t.rounds()).put("medianMs", rounded(t.medianMs())).put("bestMs", rounded(t.bestMs()))
                .put("timesCopy", rounded(t.medianMs() / results.copyMs(t.format(), t.threads())));
            if (t.allocated() >= 0) {
                row.put("bytesPerFrame", t.allocated());
            }
        }
        root.putArray("host");
        root.putArray("batch");
        for (Results.Value v : results.values()) {
            ObjectNode value = root.withArray(v.part().name().toLowerCase(Locale.ROOT)).addObject().put("what", v.what()).put("unit", v.unit());
            if (Double.isFinite(v.value())) {
                value.put("value", rounded(v.value()));
            }
            if (!v.note().isEmpty()) {
                value.put("note", v.note());
            }
        }
        results.absent().forEach(root.putArray("notMeasured")::add);
        var budgets = root.putArray("budgets");
        for (Budget b : results.budgets()) {
            ObjectNode budget = budgets.addObject().put("what", b.what()).put(b.atLeast() ? "atLeast" : "atMost", b.limit()).put("unit", b.unit())
                .put("binding", b.binding()).put("verdict", b.verdict());
            if (b.wasMeasured()) {
                budget.put("measured", rounded(b.measured()));
            }
        }
        return root.toPrettyString();
    }

    private static double rounded(double value) {
        return Math.round(value * 1e4) / 1e4;
    }
}
