// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Solver;

/** The files of presets/, and the invented picture behind presets/examples/. */
final class Examples {
    private Examples() {
    }

    /** A bright sky over a dark meadow with a path of the colour of skin, underexposed: integers only, so the same everywhere. */
    static PlanarFrame picture() {
        PlanarFrame f = PlanarFrame.allocate(192, 108, ChromaSampling.S420, CodeDepth.BITS10, LumaStandard.BT709, false, true, false);
        int grain = 12345;
        for (int y = 0; y < 108; y++) {
            for (int x = 0; x < 192; x++) {
                grain = grain * 1103515245 + 12345;
                int noise = (grain >>> 16 & 7) - 3;
                boolean sky = y < 44;
                boolean path = !sky && Math.abs(x - 96) * 3 < y - 30;
                int level = sky ? 500 - 2 * y + x / 5 : path ? 260 + x % 8 * 3 : 105 + (x * 7 + y * 13) % 60;
                f.setLumaCode(x, y, level + noise);
                if ((x & 1) == 0 && (y & 1) == 0) {
                    f.setCbCode(x / 2, y / 2, sky ? 560 : path ? 482 : 492);
                    f.setCrCode(x / 2, y / 2, sky ? 488 : path ? 561 : 504);
                }
            }
        }
        return f;
    }

    static Measurement measurement() {
        ClipMeter meter = new ClipMeter(LumaStandard.BT709, 256);
        meter.add(picture(), 0);
        return meter.finish("meadow.mov");
    }

    static Correction correction() {
        return Solver.solve(measurement(), EvenstopFiles.profile("cinema-soft"), EvenstopFiles.preset("even"));
    }

    /** Text of a file under presets/, as the engine carries it. */
    static String shipped(String name) {
        try (InputStream in = Examples.class.getResourceAsStream("/org/evenstop/engine/presets/" + name)) {
            if (in == null) {
                throw new IllegalStateException("presets/" + name + " is missing");
            }
            return new String(in.readAllBytes(), StandardCharsets.UTF_8);
        } catch (IOException e) {
            throw new UncheckedIOException(e);
        }
    }

    /** Leaves what presets/NAME should hold under target/, and says how to take it over. */
    static String remedy(String name, String text) {
        Path file = Path.of("target", "regenerated", name);
        try {
            Files.createDirectories(file.getParent());
            Files.writeString(file, text);
        } catch (IOException e) {
            throw new UncheckedIOException(e);
        }
        return "presets/" + name + " is not what the code makes; if the code is right: cp java/engine/" + file + " presets/" + name;
    }
}
