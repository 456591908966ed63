// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.calibrate;

import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.PrintWriter;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.concurrent.Callable;
import org.evenstop.batch.Terminal;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.PendingFile;
import org.evenstop.engine.InputException;
import org.evenstop.engine.calibrate.CalibrationResult;
import org.evenstop.engine.calibrate.ExposureMeter;
import org.evenstop.engine.calibrate.ExposurePicture;
import org.evenstop.engine.calibrate.ProfileCalibrator;
import org.evenstop.engine.json.EvenstopFiles;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Parameters;
import picocli.CommandLine.Spec;

/** {@code evenstop calibrate}: a profile from several exposures of one still scene. */
@Command(name = "calibrate", mixinStandardHelpOptions = true, sortOptions = false,
    description = {"Recovers a camera profile from stills or clips of one still scene at several exposures, and writes it as JSON.",
        "Shoot five to nine a stop apart from a tripod: fixed light and white balance, plain surfaces from black to clipping, some "
            + "coloured. An uneven bracket (-2, -1.3, 0, 1, 2.3) tells a sharp knee better than an even one."})
public final class CalibrateCommand implements Callable<Integer> {
    /** Frames taken of a clip: enough to average noise away. */
    private static final int FRAMES = 12;

    @Parameters(paramLabel = "STILL_OR_CLIP", arity = "1..*", description = "One file an exposure.")
    private List<Path> files;

    @Option(names = "--stops", paramLabel = "LIST",
        description = "Exposure of each file in stops, in their order, as -2,-1,0,1,2. Without it the steps are recovered, up to a stated assumption.")
    private String stops;

    @Option(names = "--out", paramLabel = "FILE", required = true, description = "Profile to write, a file that ends in .json.")
    private Path out;

    @Option(names = "--name", paramLabel = "NAME", description = "Name of the profile: letters, digits and hyphens. Default: that of the file.")
    private String name;

    @Option(names = "--overwrite", description = "Replace the profile when it is there.")
    private boolean overwrite;

    @Option(names = "--json", description = "Print the report for machines; messages stay on the standard error stream.")
    private boolean json;

    @Spec
    private CommandSpec spec;

    @Override
    public Integer call() {
        PrintWriter print = spec.commandLine().getOut();
        PrintWriter err = spec.commandLine().getErr();
        String profileName = profileName();
        double[] stated = statedStops();
        ProfileCalibrator.requireNumber(files.size());
        if (!overwrite && Files.exists(out)) {
            throw new InputException(out + ": is already there; add --overwrite to replace it, or give another file with --out");
        }
        CalibrationResult result;
        // Made before the exposures are read, so that a place that cannot be written to is told at once.
        try (PendingFile written = new PendingFile(out, overwrite)) {
            result = ProfileCalibrator.calibratePictures(profileName, pictures(stated, err));
            written.commit(EvenstopFiles.toJson(result.profile()));
        }
        if (json) {
            print.println(report(result));
        } else {
            describe(result, print);
        }
        print.flush();
        return 0;
    }

    private List<ExposurePicture> pictures(double[] stated, PrintWriter err) {
        List<ExposurePicture> pictures = new ArrayList<>();
        for (int i = 0; i < files.size(); i++) {
            Path file = files.get(i);
            if (Files.isDirectory(file)) {
                throw new InputException(file + ": is a folder; name the files, each one exposure");
            }
            err.println(Terminal.plain("exposure " + (i + 1) + " of " + files.size() + ": " + file));
            err.flush();
            ExposureMeter meter = new ExposureMeter(file.toString(), stated == null ? Double.NaN : stated[i]);
            try (ClipReader reader = ClipReader.open(file)) {
                ClipReader.Damage damage = reader.sample(FRAMES, frame -> meter.add(frame.picture()));
                if (!damage.isNone()) {
                    err.println(Terminal.plain(file + ": " + damage.sentence()));
                }
            }
            pictures.add(meter.finish());
        }
        return pictures;
    }

    private String profileName() {
        if (!out.toString().toLowerCase(Locale.ROOT).endsWith(".json")) {
            throw new InputException("calibrate: --out '" + out + "' must be a file that ends in .json");
        }
        if (name == null) {
            String stem = out.getFileName().toString();
            stem = stem.substring(0, stem.length() - 5).replaceAll("[^A-Za-z0-9-]+", "-").replaceAll("^[^A-Za-z]+", "");
            return stem.isEmpty() ? "recovered" : stem.substring(0, Math.min(40, stem.length()));
        }
        if (!name.matches("[A-Za-z][A-Za-z0-9-]{0,39}")) {
            throw new InputException("calibrate: --name '" + name + "' must be 1 to 40 letters, digits and hyphens, a letter first");
        }
        return name;
    }

    private double[] statedStops() {
        if (stops == null) {
            return null;
        }
        String[] parts = stops.split(",", -1);
        if (parts.length != files.size()) {
            throw new InputException("calibrate: --stops names " + parts.length + " exposures, but " + files.size()
                + " files are given; give one number for each file, in their order");
        }
        return Arrays.stream(parts).mapToDouble(part -> {
            try {
                double value = Double.parseDouble(part.strip());
                if (Math.abs(value) <= 12) {
                    return value;
                }
            } catch (NumberFormatException notANumber) {
                // Told below, together with numbers out of range.
            }
            throw new InputException("calibrate: --stops holds '" + part.strip() + "'; give numbers from -12 to 12 with commas between, as -2,-1,0,1,2");
        }).toArray();
    }

    private void describe(CalibrationResult r, PrintWriter print) {
        CalibrationResult.Covered c = r.covered();
        print.printf(Locale.ROOT, "Profile %s written to %s, by %s from %d %s%n", r.profile().name(), Terminal.plain(out),
            r.method() == CalibrationResult.Method.PLACES ? "comparing places" : "comparing histograms", r.sites(),
            r.method() == CalibrationResult.Method.PLACES ? "places" : "percentiles");
        print.printf(Locale.ROOT, "Covered: levels %.1f to %.1f %%, %+.2f to %+.2f stops about mid grey; %s%n", c.levelFrom(), c.levelTo(),
            c.stopsFrom(), c.stopsTo(), c.lumaTo() == 0 ? "the range of the chroma factors is not known"
                : String.format(Locale.ROOT, "chroma factors at luma %.0f to %.0f %%", c.lumaFrom(), c.lumaTo()));
        print.println(Double.isNaN(c.ceiling()) ? "Ceiling: not seen" : String.format(Locale.ROOT, "Ceiling: clips at %.1f %%", c.ceiling()));
        print.printf(Locale.ROOT, "Residuals: mean %.3f, 95 %% of them under %.3f %% of level%n", r.meanResidual(), r.p95Residual());
        print.println("Stated and found in stops, residual in % of level:");
        print.printf("%10s %10s %10s  %s%n", "stated", "found", "residual", "exposure");
        for (CalibrationResult.Step s : r.steps()) {
            print.printf(Locale.ROOT, "%10s %+10.2f %10.3f  %s%n", Double.isNaN(s.stated()) ? "-" : String.format(Locale.ROOT, "%+.2f", s.stated()),
                s.found(), s.residual(), Terminal.plain(s.name()));
        }
        r.warnings().forEach(warning -> print.println(Terminal.plain("Warning: " + warning)));
        r.notes().forEach(note -> print.println(Terminal.plain("Note: " + note)));
    }

    private String report(CalibrationResult r) {
        ObjectMapper mapper = new ObjectMapper();
        ObjectNode root = mapper.createObjectNode();
        root.put("profile", r.profile().name()).put("file", out.toString()).put("method", r.method().word()).put("sites", r.sites());
        root.put("meanResidual", rounded(r.meanResidual())).put("p95Residual", rounded(r.p95Residual()));
        CalibrationResult.Covered c = r.covered();
        ObjectNode covered = root.putObject("covered");
        covered.put("stopsFrom", rounded(c.stopsFrom())).put("stopsTo", rounded(c.stopsTo())).put("levelFrom", rounded(c.levelFrom()))
            .put("levelTo", rounded(c.levelTo())).put("lumaFrom", rounded(c.lumaFrom())).put("lumaTo", rounded(c.lumaTo()));
        put(root, "ceiling", c.ceiling());
        ArrayNode steps = root.putArray("exposures");
        for (CalibrationResult.Step s : r.steps()) {
            ObjectNode step = steps.addObject().put("file", s.name());
            put(step, "stated", s.stated());
            step.put("found", rounded(s.found())).put("residual", rounded(s.residual()));
        }
        ArrayNode warnings = root.putArray("warnings");
        r.warnings().forEach(warnings::add);
        ArrayNode notes = root.putArray("notes");
        r.notes().forEach(notes::add);
        try {
            return mapper.writerWithDefaultPrettyPrinter().writeValueAsString(root);
        } catch (JsonProcessingException impossible) {
            throw new IllegalStateException(impossible);
        }
    }

    private static void put(ObjectNode node, String field, double value) {
        if (Double.isNaN(value)) {
            node.putNull(field);
        } else {
            node.put(field, rounded(value));
        }
    }

    private static double rounded(double value) {
        return Math.round(value * 1e4) / 1e4 + 0.0;
    }
}
