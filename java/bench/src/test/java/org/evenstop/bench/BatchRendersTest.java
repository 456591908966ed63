// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import org.junit.jupiter.api.Test;

/** What is made of the times that renders answer, and that they are missed where they cannot be taken. */
class BatchRendersTest {
    private static final String TIMES = """
        {"decode": {"ms": [960, 980, 940], "cpuMs": [1920, 1920, 1920]},
         "decodeAndEncodeSource": {"ms": [2400, 2400, 2400], "cpuMs": [4800, 4800, 4800]},
         "decodeAndEncode": {"ms": [4000, 3840, 2000], "cpuMs": [7680, 7680, 7680]},
         "render": {"ms": [4224, 9000, 4000], "cpuMs": [8640, 8640, 8640]},
         "measureAndRender": {"ms": [4800, 4800, 4800], "cpuMs": [9600, 9600, 9600]}}""";

    @Test
    void theBudgetIsTheRatioOfTheMedians() throws IOException {
        Results results = new Results();
        BatchRenders.add(results, new ObjectMapper().readTree(TIMES));
        assertEquals(1, results.budgets().size());
        Budget budget = results.budgets().get(0);
        assertEquals(1.1, budget.measured(), 1e-9);
        assertTrue(budget.binding());
        assertFalse(budget.isMet());
        JsonNode lines = new ObjectMapper().readTree(Report.json(Machine.here(), results, "test")).path("batch");
        assertEquals(6, lines.size());
        assertEquals(40, lines.get(2).path("value").asDouble());
        assertTrue(lines.get(4).path("note").asText().contains("1.25 x"), lines.toString());
        assertEquals(90, lines.get(5).path("value").asDouble());
        assertTrue(lines.get(5).path("note").asText().contains("decode 20.00, encode 60.00, correct and measure the result 10.00"), lines.toString());
    }

    @Test
    void withoutTheCommandLineTheBudgetIsNotKept() throws Exception {
        Results results = new Results();
        BatchRenders.time(results);
        assertEquals(1, results.absent().size());
        assertEquals("not measured", results.budgets().get(0).verdict());
        assertFalse(results.budgets().get(0).isMet());
    }
}
