// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.util.ArrayList;
import java.util.List;

/** Everything a run measured, and why something was not. */
final class Results {
    /** A line about the plug-in in its host, or about renders: {@code value} in {@code unit}. */
    record Value(Part part, String what, double value, String unit, String note) {
        /** What was timed in processes of its own. */
        enum Part { HOST, BATCH }
    }

    private final List<Row.Timing> timings = new ArrayList<>();
    private final List<Value> values = new ArrayList<>();
    private final List<String> absent = new ArrayList<>();
    private final List<Budget> budgets = new ArrayList<>();

    void add(List<Row> rows) {
        rows.forEach(row -> timings.add(row.timing()));
    }

    /** A line about the plug-in in its host. */
    void add(String what, double value, String unit, String note) {
        values.add(new Value(Value.Part.HOST, what, value, unit, note));
    }

    /** A line about renders. */
    void addBatch(String what, double value, String unit, String note) {
        values.add(new Value(Value.Part.BATCH, what, value, unit, note));
    }

    void add(Budget budget) {
        budgets.add(budget);
    }

    /** @param why something is not in the table, as a sentence without a full stop */
    void absent(String why) {
        absent.add(why);
    }

    List<Row.Timing> timings() {
        return timings;
    }

    List<Value> values() {
        return values;
    }

    List<String> absent() {
        return absent;
    }

    List<Budget> budgets() {
        return budgets;
    }

    /** Drops budgets of parts that were not asked for. */
    void forgetUnmeasured() {
        budgets.removeIf(budget -> !budget.wasMeasured());
    }

    /** Milliseconds of a row; NaN where there is none. */
    double ms(String format, String pass, String by, int threads) {
        for (Row.Timing t : timings) {
            if (t.format().equals(format) && t.pass().equals(pass) && t.by().equals(by) && t.threads() == threads) {
                return t.medianMs();
            }
        }
        return Double.NaN;
    }

    /** Milliseconds of the copy that a row is compared with. */
    double copyMs(String format, int threads) {
        return ms(format, "copy", "memcpy", threads);
    }

    /** A row's time to that of a copy of its frame on as many threads. */
    double toCopy(String format, String pass, String by, int threads) {
        return ms(format, pass, by, threads) / copyMs(format, threads);
    }
}
