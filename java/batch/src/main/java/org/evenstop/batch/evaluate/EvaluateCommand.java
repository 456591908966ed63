// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.evaluate;

import java.io.PrintWriter;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutionException;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.concurrent.atomic.AtomicInteger;
import org.evenstop.engine.InputException;
import org.evenstop.engine.calibrate.Exposure;
import org.evenstop.engine.calibrate.ProfileCalibrator;
import org.evenstop.engine.evaluate.BracketEvaluation;
import org.evenstop.engine.evaluate.Family;
import org.evenstop.engine.evaluate.Scene;
import org.evenstop.engine.evaluate.SceneCamera;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Matcher;
import org.evenstop.engine.solve.Preset;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Parameters;
import picocli.CommandLine.Spec;

/** {@code evenstop evaluate}: how near the exposures of one scene land to each other, against ground truth. */
@Command(name = "evaluate", mixinStandardHelpOptions = true, sortOptions = false,
    description = {"Shoots pictures at -2 to +2 stops through camera settings, normalises each exposure by itself, and prints how far the results"
        + " lie from that of the middle exposure (CIEDE2000 on 8x8 block means).",
        "General baselines are measured in the same run."})
public final class EvaluateCommand implements Callable<Integer> {
    private static final String PRESET = "even";

    @Parameters(paramLabel = "PICTURE|FOLDER", arity = "0..*", description = "Stills, or folders of stills. Default: the places of the demo.")
    private List<Path> named;

    @Option(names = "--profile", paramLabel = "NAME|FILE",
        description = "Camera setting to shoot with, may be given several times. Default: two are invented for each picture, one of each family.")
    private List<String> profiles;

    @Option(names = "--seed", paramLabel = "N", defaultValue = "1",
        description = "Which camera settings are invented, and the noise. Default: ${DEFAULT-VALUE}.")
    private long seed;

    @Option(names = "--size", paramLabel = "N", defaultValue = "200000", description = "Pixels of each picture, about. Default: ${DEFAULT-VALUE}.")
    private int size;

    @Option(names = "--bits", paramLabel = "8|10", defaultValue = "10", description = "Depth of the codes. Default: ${DEFAULT-VALUE}.")
    private int bits;

    @Option(names = "--json", description = "Print one object for machines; messages stay on the standard error stream.")
    private boolean json;

    @Option(names = "--check", description = "Exit with 1 where a row of the table misses what is promised, and name it.")
    private boolean check;

    @Spec
    private CommandSpec spec;

    @Override
    public Integer call() {
        if (size < 4096 || size > 20_000_000) {
            throw new InputException("--size " + size + " is outside 4096 to 20000000; give the pixels of each picture");
        }
        if (bits != 8 && bits != 10) {
            throw new InputException("--bits " + bits + " is not 8 or 10; give one of the two");
        }
        if (seed < 0 || seed > 1_000_000) {
            throw new InputException("--seed " + seed + " is outside 0 to 1000000");
        }
        PrintWriter out = spec.commandLine().getOut();
        PrintWriter err = spec.commandLine().getErr();
        int threads = Math.max(1, Integer.getInteger("evenstop.threads", Runtime.getRuntime().availableProcessors()));
        List<Profile> cameras = new ArrayList<>();
        if (profiles != null) {
            profiles.forEach(name -> cameras.add(EvenstopFiles.profile(name)));
        }
        List<Pictures.Picture> pictures = Pictures.of(named, threads);
        EvaluationReport report = new EvaluationReport(evaluated(pictures, cameras, threads, err), new EvaluationReport.Setting(
            pictures.size(), size, bits, seed, PRESET, profiles == null ? List.of() : profiles));
        if (json) {
            report.printJson(out);
        } else {
            report.printText(out);
        }
        out.flush();
        List<String> missed = report.missed();
        if (check) {
            missed.forEach(row -> err.println("missed: " + row));
            return missed.isEmpty() ? 0 : 1;
        }
        return 0;
    }

    private List<BracketEvaluation> evaluated(List<Pictures.Picture> pictures, List<Profile> cameras, int threads, PrintWriter err) {
        Preset preset = EvenstopFiles.preset(PRESET);
        AtomicInteger done = new AtomicInteger();
        ExecutorService pool = Executors.newFixedThreadPool(threads);
        try {
            List<Future<List<BracketEvaluation>>> coming = new ArrayList<>();
            for (Pictures.Picture picture : pictures) {
                coming.add(pool.submit(() -> {
                    List<BracketEvaluation> found = evaluated(picture, cameras, preset);
                    synchronized (err) {
                        err.println(String.format(Locale.ROOT, "evaluate: %d of %d pictures: %s", done.incrementAndGet(), pictures.size(), picture.name()));
                        err.flush();
                    }
                    return found;
                }));
            }
            List<BracketEvaluation> all = new ArrayList<>();
            for (Future<List<BracketEvaluation>> one : coming) {
                all.addAll(one.get());
            }
            return all;
        } catch (ExecutionException failed) {
            if (failed.getCause() instanceof RuntimeException unchecked) {
                throw unchecked;
            }
            throw new IllegalStateException(failed.getCause());
        } catch (InterruptedException stopped) {
            Thread.currentThread().interrupt();
            throw new InputException("evaluate: stopped before it was done; run it again");
        } finally {
            pool.shutdownNow();
        }
    }

    private List<BracketEvaluation> evaluated(Pictures.Picture picture, List<Profile> given, Preset preset) {
        Scene scene = picture.scene(size);
        // From the picture's name, so that it meets the same cameras alone and among others.
        long own = 1000 * seed + Math.floorMod(picture.name().hashCode(), 1000);
        List<BracketEvaluation> found = new ArrayList<>();
        List<Profile> cameras = given.isEmpty() ? List.of(Family.CINEMA.invent(own), Family.KNEE.invent(own)) : given;
        for (int i = 0; i < cameras.size(); i++) {
            Profile camera = cameras.get(i);
            Family family = given.isEmpty() ? Family.values()[i] : Family.of(camera);
            found.add(BracketEvaluation.of(picture.name(), scene, SceneCamera.noisy(camera, CodeDepth.ofBits(bits)), family, preset, own,
                EvaluateCommand::recovered, (clip, reference, corrected, profile, anchors) ->
                    Matcher.match(clip, reference, corrected, profile, anchors).correction()));
        }
        return found;
    }

    private static Profile recovered(List<PlanarFrame> frames, double[] stops) {
        List<Exposure> exposures = new ArrayList<>();
        for (int i = 0; i < stops.length; i++) {
            exposures.add(new Exposure(String.format(Locale.ROOT, "%+.0f stops", stops[i]), List.of(frames.get(i)), stops[i]));
        }
        return ProfileCalibrator.calibrate("recovered", exposures).profile();
    }
}
