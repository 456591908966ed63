// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.ByteArrayOutputStream;
import java.io.IOException;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.util.List;
import org.junit.jupiter.api.Test;

/** Medians, budgets and the words of the command, without timing anything that matters. */
class ReportTest {
    private record Answer(int code, String out, String err) {
    }

    private static Answer bench(String... arguments) {
        ByteArrayOutputStream out = new ByteArrayOutputStream();
        ByteArrayOutputStream err = new ByteArrayOutputStream();
        int code = Main.run(new BenchCommand(), "evenstop bench", arguments, new PrintStream(out, true, StandardCharsets.UTF_8),
            new PrintStream(err, true, StandardCharsets.UTF_8));
        return new Answer(code, out.toString(StandardCharsets.UTF_8), err.toString(StandardCharsets.UTF_8));
    }

    @Test
    void theMedianIsTheMiddle() {
        assertEquals(2, Row.median(new double[] {3, 1, 2}));
        assertEquals(2.5, Row.median(new double[] {4, 1, 3, 2}));
        assertTrue(Double.isNaN(Row.median(new double[0])));
    }

    @Test
    void aBudgetIsKeptAtItsLimit() {
        assertTrue(Budget.atMost("a", 2, 2, "x").isMet());
        assertFalse(Budget.atMost("a", 2, 2.001, "x").isMet());
        assertEquals("MISSED", Budget.atMost("a", 2, 3, "x").verdict());
        assertEquals("not measured", Budget.atMost("a", 2, Double.NaN, "x").verdict());
        assertTrue(Budget.goal("a", 8, 8).isMet());
        assertEquals("not reached", Budget.goal("a", 8, 7.9).verdict());
        assertEquals("at least 8.00 x", Budget.goal("a", 8, 7).limitText());
    }

    @Test
    void checkNamesWhatIsMissedAndGoalsDoNotCount() {
        Results results = new Results();
        results.add(Budget.goal("a goal", 8, 1));
        results.add(Budget.atMost("kept", 5, 4, "ms"));
        assertEquals(Main.OK, check(results, new StringBuilder()));
        results.add(Budget.atMost("too slow", 5, 6, "ms"));
        results.add(Budget.atMost("unknown", 5, Double.NaN, "ms"));
        StringBuilder said = new StringBuilder();
        assertEquals(Main.MISSED, check(results, said));
        assertTrue(said.toString().contains("missed: too slow is 6.0 ms; at most 5.0 ms is the budget"), said.toString());
        assertTrue(said.toString().contains("not measured: unknown"), said.toString());
        assertFalse(said.toString().contains("goal"), said.toString());
    }

    private static int check(Results results, StringBuilder said) {
        java.io.StringWriter err = new java.io.StringWriter();
        picocli.CommandLine line = new picocli.CommandLine(new BenchCommand());
        line.setErr(new java.io.PrintWriter(err, true));
        line.setOut(new java.io.PrintWriter(new java.io.StringWriter()));
        int code = Main.report(line, Machine.here(), results, "test", true, true);
        said.append(err);
        return code;
    }

    @Test
    void jsonHoldsRowsRatiosAndTheMachine() throws IOException {
        try (Crew crew = new Crew(1)) {
            PackedRows rows = new PackedRows(64, 40, org.evenstop.engine.frame.SampleDepth.FLOAT, List.of(crew));
            rows.kernel(new org.evenstop.engine.kernel.ScalarKernel(), Corrections.ALL);
            rows.rows.forEach(row -> {
                row.time();
                row.time();
                row.time();
            });
            Results results = new Results();
            results.add(rows.rows);
            JsonNode root = new ObjectMapper().readTree(Report.json(Machine.here(), results, "test"));
            assertEquals(2, root.path("rows").size());
            JsonNode scalar = root.path("rows").get(1);
            assertEquals("scalar", scalar.path("by").asText());
            assertEquals(3, scalar.path("rounds").asInt());
            double copy = root.path("rows").get(0).path("medianMs").asDouble();
            assertTrue(copy >= 0 && scalar.path("timesCopy").asDouble() > 0, root.toString());
            assertFalse(root.path("machine").path("kernel").asText().isEmpty());
        }
    }

    @Test
    void wrongUseIsToldInOneLine() {
        Answer part = bench("--only", "double");
        assertEquals(Main.USAGE, part.code());
        assertTrue(part.err().contains("'double' is no part of the bench; give float, half, 16, 8, 422, 420, 444, host"), part.err());
        assertEquals(1, part.err().lines().count());
        assertEquals(Main.USAGE, bench("--fast").code());
        assertTrue(bench("--help").out().contains("--check"));
    }
}
