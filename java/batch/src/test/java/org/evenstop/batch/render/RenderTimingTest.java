// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import org.junit.jupiter.api.Test;

/** What is timed is the real render, whose pictures are proved on the way; how long it takes is not looked at. */
class RenderTimingTest {
    @Test
    void everyPassIsTimedOnceARoundAndNothingIsLeftBehind() throws IOException {
        Path folder;
        try (RenderTiming timing = new RenderTiming(320, 180, 5)) {
            JsonNode times = new ObjectMapper().readTree(timing.run(2));
            for (String pass : List.of("decode", "decodeAndEncodeSource", "decodeAndEncode", "render", "measureAndRender")) {
                assertEquals(2, times.path(pass).path("ms").size(), pass);
                assertEquals(2, times.path(pass).path("cpuMs").size(), pass);
                assertTrue(times.path(pass).path("ms").get(1).asDouble() > 0, pass);
            }
            folder = timing.folder();
            assertTrue(Files.isDirectory(folder));
        }
        assertFalse(Files.exists(folder));
    }
}
