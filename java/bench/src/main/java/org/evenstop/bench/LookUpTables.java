// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.io.IOException;
import java.io.Writer;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Locale;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.SampleIo;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.solve.Correction;

/** A correction as the tables that general libraries take, over levels 0..1. */
final class LookUpTables {
    /** Edge of the 3-D table: the usual size (common practice, no source). */
    static final int EDGE = 33;
    static final int ENTRIES = 4096;

    private LookUpTables() {
    }

    /** {@code [EDGE][EDGE][EDGE][3]}, red slowest, blue fastest. */
    static float[] cube(Correction correction) {
        int n = EDGE * EDGE * EDGE;
        PackedFrame in = PackedFrame.allocate(n, 1, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE);
        PackedFrame out = PackedFrame.allocate(n, 1, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE);
        float[] values = new float[3 * n];
        float step = 1f / (EDGE - 1);
        for (int i = 0; i < n; i++) {
            values[3 * i] = i / (EDGE * EDGE) * step;
            values[3 * i + 1] = i / EDGE % EDGE * step;
            values[3 * i + 2] = i % EDGE * step;
        }
        SampleIo.store(values, values.length, in.memory(), 0, SampleDepth.FLOAT);
        new ScalarKernel().apply(in, out, 0, 1, correction, 1f);
        SampleIo.load(out.memory(), 0, SampleDepth.FLOAT, values, values.length);
        return values;
    }

    /** The tone curve at {@code ENTRIES} even steps. */
    static float[] tone(Correction correction) {
        float[] levels = new float[ENTRIES];
        for (int i = 0; i < ENTRIES; i++) {
            levels[i] = i / (ENTRIES - 1f);
        }
        correction.tone().apply(levels, ENTRIES);
        return levels;
    }

    /** Writes a .cube file with a 3-D table; red runs fastest there. */
    static void writeCube(Path file, float[] cube) throws IOException {
        try (Writer writer = Files.newBufferedWriter(file, StandardCharsets.US_ASCII)) {
            writer.write("LUT_3D_SIZE " + EDGE + "\n");
            for (int b = 0; b < EDGE; b++) {
                for (int g = 0; g < EDGE; g++) {
                    for (int r = 0; r < EDGE; r++) {
                        int i = 3 * ((r * EDGE + g) * EDGE + b);
                        writer.write(String.format(Locale.ROOT, "%.7f %.7f %.7f\n", cube[i], cube[i + 1], cube[i + 2]));
                    }
                }
            }
        }
    }

    /** Writes a .cube file with the same 1-D table for each channel. */
    static void writeTone(Path file, float[] tone) throws IOException {
        try (Writer writer = Files.newBufferedWriter(file, StandardCharsets.US_ASCII)) {
            writer.write("LUT_1D_SIZE " + tone.length + "\n");
            for (float level : tone) {
                writer.write(String.format(Locale.ROOT, "%.7f %.7f %.7f\n", level, level, level));
            }
        }
    }
}
