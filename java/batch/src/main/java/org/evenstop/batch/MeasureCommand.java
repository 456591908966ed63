// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import java.io.PrintWriter;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.concurrent.Callable;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.render.ClipMeasure;
import org.evenstop.engine.InputException;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Solver;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Parameters;
import picocli.CommandLine.Spec;

/** {@code evenstop measure}: levels of clips as a table or as JSON. */
@Command(name = "measure", mixinStandardHelpOptions = true, sortOptions = false,
    description = "Prints where the levels of each clip lie, in percent: 0 is black, 100 nominal white, 109 the highest code.")
final class MeasureCommand implements Callable<Integer> {
    @Parameters(paramLabel = "CLIP", arity = "1..*", description = "Video files, stills, or folders of clips.")
    private List<Path> clips;

    @Option(names = "--json", description = "Print an array of measurements for machines; messages stay on the standard error stream.")
    private boolean json;

    @Option(names = "--profile", paramLabel = "NAME|FILE",
        description = "What the camera was set to: adds a note per clip with the stops that preset 'even' would apply. Without it, or with "
            + "auto, the clips are weighed together and one line says which shipped profile suits them.")
    private String profile;

    @Spec
    private CommandSpec spec;

    @Override
    public Integer call() {
        PrintWriter out = spec.commandLine().getOut();
        PrintWriter err = spec.commandLine().getErr();
        CameraProfile camera = CameraProfile.asked(profile == null ? CameraProfile.AUTO : profile);
        Profile through = camera.isAuto() ? null : camera.profile();
        Preset even = through == null ? null : EvenstopFiles.preset("even");
        List<Path> files = ClipList.of(clips);
        ProgressLine progress = new ProgressLine(err, Terminal.isError(), files.size());
        List<Measurement> good = new ArrayList<>();
        int failed = 0;
        for (Path file : files) {
            progress.begin(file.toString());
            try (ClipReader reader = ClipReader.open(file)) {
                ClipMeasure measured = ClipMeasure.of(reader, progress);
                progress.clear();
                Measurement m = through == null ? measured.measurement() : withStops(measured.measurement(), through, even);
                if (measured.damage().isGrave()) {
                    failed++;
                    err.println(file + ": " + measured.damage().sentence() + "; only those are measured: copy the clip again from its card");
                }
                if (!json) {
                    if (good.isEmpty()) {
                        out.println(LevelTable.measureHeader());
                    }
                    out.println(LevelTable.measureRow(m));
                    m.notes().forEach(note -> out.println("    " + note));
                    out.flush();
                }
                if (!measured.damage().isGrave()) {
                    camera.saw(m);
                }
                good.add(m);
            } catch (InputException wrong) {
                progress.clear();
                failed++;
                err.println(wrong.getMessage());
                Main.trace(wrong, err);
            } catch (RuntimeException | OutOfMemoryError fault) {
                progress.clear();
                failed++;
                err.println(file + ": " + Main.oneLine(fault));
                Main.trace(fault, err);
            }
        }
        if (camera.isAuto() && !good.isEmpty()) {
            camera.choose();
            (json ? err : out).println(camera.choice().line());
        }
        camera.objection().ifPresent(note -> (json ? err : out).println(note));
        if (json) {
            out.println(EvenstopFiles.toJson(good, false).strip());
        }
        out.flush();
        if (failed > 0 && files.size() > 1) {
            err.println(failed + " of " + files.size() + " clips failed");
        }
        return failed > 0 ? Main.SOME_FAILED : Main.OK;
    }

    private static Measurement withStops(Measurement m, Profile through, Preset preset) {
        List<String> notes = new ArrayList<>(m.notes());
        notes.add(String.format(Locale.ROOT, "Through profile %s, preset %s would apply %+.2f stops.", through.name(), preset.name(),
            Solver.solve(m, through, preset).origin().stops()));
        return ClipMeasure.withNotes(m, notes);
    }
}
