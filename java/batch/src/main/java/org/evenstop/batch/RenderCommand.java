// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.IOException;
import java.io.PrintWriter;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.concurrent.Callable;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.OutputCodec;
import org.evenstop.batch.media.PendingFile;
import org.evenstop.batch.render.ClipFollow;
import org.evenstop.batch.render.ClipMeasure;
import org.evenstop.batch.render.ClipRender;
import org.evenstop.batch.render.FasterCode;
import org.evenstop.engine.InputException;
import org.evenstop.engine.follow.FlickerTrim;
import org.evenstop.engine.follow.LightKey;
import org.evenstop.engine.follow.LightShot;
import org.evenstop.engine.follow.LightTrack;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.measure.LevelSummary;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.solve.BestExposed;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Subject;
import picocli.CommandLine;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Parameters;
import picocli.CommandLine.Spec;

/** {@code evenstop render}: corrected copies of clips. */
@Command(name = "render", mixinStandardHelpOptions = true, sortOptions = false,
    description = "Writes a corrected copy of each clip, CLIP.evenstop.mov, and the correction beside it, CLIP.correction.json.",
    footer = {"", "A render is a copy: keep the camera original until the copy is checked.",
        "Broadcasters and platforms set their own level limits: check theirs before you deliver."})
final class RenderCommand implements Callable<Integer> {
    @Parameters(paramLabel = "CLIP", arity = "1..*", description = "Video files, stills, or folders of clips.")
    private List<Path> clips;

    @Option(names = "--out", paramLabel = "DIR", required = true, description = "Folder for the copies; made when it is not there.")
    private Path folder;

    @Option(names = "--preset", paramLabel = "NAME|FILE", defaultValue = "even",
        description = "What you want: a shipped preset or a JSON file. Default: ${DEFAULT-VALUE}.")
    private String preset;

    @Option(names = "--profile", paramLabel = "NAME|FILE", defaultValue = CameraProfile.AUTO,
        description = "What the camera was set to: a shipped profile, a JSON file, or auto to judge by the clips, all of one camera "
            + "setting. Default: ${DEFAULT-VALUE}.")
    private String profile;

    @Option(names = "--subject", paramLabel = "WORD",
        description = "What to aim at: auto, face, landscape or lowLight. Default: what the preset says.")
    private String subject;

    @Option(names = "--match", paramLabel = "REFERENCE",
        description = "A clip of the same scene: its own corrected picture is what the clips are matched to. Clips that do not show the "
            + "same are solved by the preset, and that is said.")
    private Path match;

    @Option(names = "--group", description = "The clips all show one scene: the best exposed one is found and named, the others are matched to it.")
    private boolean group;

    @Option(names = "--follow", description = "Follow light that drifts within a clip (an iris hunting, automatic exposure): each shot is held to its own "
        + "usual light. Reads the clip once more. A steady clip comes out as without it.")
    private boolean follow;

    @Option(names = "--codec", paramLabel = "NAME", defaultValue = "proresHq",
        description = {"proresHq    10-bit 4:2:2 ProRes HQ in .mov (default)", "prores4444  10-bit 4:4:4 ProRes 4444 in .mov",
            "dnxhrHqx    10-bit 4:2:2 DNxHR HQX in .mov", "ffv1        lossless, sampling, depth and range of the clip, in .mkv"})
    private String codec;

    @Option(names = "--strength", paramLabel = "0..1", defaultValue = "1", converter = ShareConverter.class,
        description = "Share of the correction: 0 changes nothing, 1 is all of it. Default: ${DEFAULT-VALUE}.")
    private float strength;

    @Option(names = "--overwrite", description = "Replace copies that are already there.")
    private boolean overwrite;

    @Option(names = "--json", description = "Print an array of results for machines; messages stay on the standard error stream.")
    private boolean json;

    @Spec
    private CommandSpec spec;

    /** Reads a share, so that what is no number is told the range as well. */
    private static final class ShareConverter implements CommandLine.ITypeConverter<Float> {
        @Override
        public Float convert(String text) {
            try {
                float share = Float.parseFloat(text);
                if (share >= 0 && share <= 1) {
                    return share;
                }
            } catch (NumberFormatException noNumber) {
                // Refused below.
            }
            throw new CommandLine.TypeConversionException("'" + text + "' is not a number from 0 to 1; give 0 for no change, 1 for the whole correction");
        }
    }

    private record Job(Path clip, Path output, Path correction) {
    }

    @Override
    public Integer call() {
        PrintWriter out = spec.commandLine().getOut();
        PrintWriter err = spec.commandLine().getErr();
        FasterCode.await();
        OutputCodec format = OutputCodec.named(codec);
        Preset wanted = EvenstopFiles.preset(preset);
        if (subject != null) {
            wanted = wanted.withSubject(subjectNamed(subject));
        }
        if (match != null && group) {
            throw new InputException("--match and --group are given together; --match names the clip to follow, --group finds it: give one of them");
        }
        CameraProfile camera = CameraProfile.asked(profile);
        ClipRender.Settings settings = new ClipRender.Settings(format, camera.startingPoint(), wanted, strength, overwrite,
            Math.max(1, Integer.getInteger("evenstop.threads", Runtime.getRuntime().availableProcessors())));
        if (folder.toString().isBlank()) {
            throw new InputException("--out is empty; give the folder for the copies");
        }
        ArrayNode results = new ObjectMapper().createArrayNode();
        if (follow) {
            // Refuses what makes no sense before anything is read.
            new ClipRender(settings, (stage, done, all) -> { }).following();
        }
        List<InputException> refused = new ArrayList<>();
        List<Job> jobs = jobs(ClipList.of(clips, (path, wrong) -> {
            refused.add(wrong);
            results.addObject().put("clip", path.toString()).put("error", wrong.getMessage());
        }), format);
        if (group && jobs.size() < 2) {
            throw new InputException("--group: there " + (jobs.isEmpty() ? "is no clip" : "is one clip, " + jobs.get(0).clip())
                + "; give two or more clips of one scene, or render without --group");
        }
        ClipRender.MeasuredAhead ahead = match == null ? null : measuredReference(jobs.stream().anyMatch(job -> job.clip().equals(match)), err);
        Measurement reference = ahead == null ? null : ahead.measure().measurement();
        if (reference != null && camera.isAuto() && jobs.stream().noneMatch(job -> SceneReference.isSame(job.clip(), match))) {
            camera.saw(reference);
        }
        if (!jobs.isEmpty()) {
            makeFolder();
        }
        refused.forEach(wrong -> err.println(wrong.getMessage()));
        Map<Path, ClipRender.MeasuredAhead> known = camera.isAuto() || group ? measured(jobs, ahead, camera, err)
            : ahead == null ? Map.of() : Map.of(match, ahead);
        if (camera.isAuto() && !known.isEmpty()) {
            (json ? err : out).println(camera.choice().line());
        }
        SceneReference scene = reference != null ? new SceneReference(match, reference, camera.profile(), wanted) : null;
        if (group) {
            scene = best(jobs, known, camera, wanted, json ? err : out);
        }
        ProgressLine progress = new ProgressLine(err, Terminal.isError(), jobs.size());
        ClipRender render = new ClipRender(settings, progress).with(camera.profile());
        if (follow) {
            render = render.following();
        }
        int failed = refused.size();
        for (Job job : jobs) {
            progress.begin(job.clip().toString());
            String problem;
            try {
                SceneReference.Following following = scene == null ? null : scene.followedBy(job.clip());
                ClipRender.Result result = (following == null ? render : render.with(following)).run(job.clip(), job.output(), job.correction(),
                    known.get(job.clip()));
                camera.saw(result.before());
                progress.clear();
                if (json) {
                    ObjectNode node = results.addObject();
                    describe(result, node);
                    camera.describe(node.putObject("profile"));
                    if (result.follow() != null) {
                        describe(result.follow(), node.putObject("follow"));
                    }
                    if (following != null) {
                        following.describe(node.putObject("match"));
                    }
                } else {
                    print(result, out);
                }
                continue;
            } catch (InputException wrong) {
                problem = wrong.getMessage();
                progress.clear();
                err.println(problem);
                Main.trace(wrong, err);
            } catch (RuntimeException | OutOfMemoryError fault) {
                problem = Terminal.plain(job.clip() + ": " + Main.oneLine(fault));
                progress.clear();
                err.println(problem);
                Main.trace(fault, err);
            }
            failed++;
            results.addObject().put("clip", job.clip().toString()).put("error", problem);
        }
        camera.objection().ifPresent(note -> {
            (json ? err : out).println(note);
            results.forEach(result -> {
                if (result.get("profile") instanceof ObjectNode node) {
                    node.put("objection", note);
                }
            });
        });
        finish(out, err, results, jobs.size() + refused.size(), failed);
        return failed > 0 ? Main.SOME_FAILED : Main.OK;
    }

    /**
     * @param rendered whether it is one of the clips as well
     * @throws InputException when the reference cannot be read or is badly damaged
     */
    private ClipRender.MeasuredAhead measuredReference(boolean rendered, PrintWriter err) {
        if (Files.isDirectory(match)) {
            throw new InputException("--match " + match + " is a folder; give one clip, or --group to find the best exposed clip of a folder");
        }
        ProgressLine progress = new ProgressLine(err, Terminal.isError(), 1);
        long started = System.nanoTime();
        try (ClipReader reader = ClipReader.open(match)) {
            progress.begin("measuring " + match);
            if (rendered) {
                FasterCode.expect(reader.info());
            }
            ClipMeasure measured = ClipMeasure.of(reader, progress);
            if (measured.damage().isGrave()) {
                throw new InputException(match + ": " + measured.damage().sentence() + "; copy the clip again from its card");
            }
            return new ClipRender.MeasuredAhead(measured, (System.nanoTime() - started) / 1e9);
        } catch (InputException unreadable) {
            throw new InputException("--match: " + unreadable.getMessage(), unreadable);
        } finally {
            progress.clear();
        }
    }

    /** The clip that a group follows, named aloud; null when fewer than two of its clips can be read. */
    private static SceneReference best(List<Job> jobs, Map<Path, ClipRender.MeasuredAhead> known, CameraProfile camera, Preset preset,
                                       PrintWriter out) {
        List<Path> readable = jobs.stream().map(Job::clip).filter(known::containsKey).toList();
        List<Measurement> measured = readable.stream().map(clip -> known.get(clip).measure().measurement()).toList();
        if (measured.size() < 2) {
            out.println(Terminal.plain("Of the group " + (measured.isEmpty() ? "no clip" : "only " + readable.get(0)) + " can be read: there is nothing to follow"));
            return null;
        }
        BestExposed best = BestExposed.of(measured, camera.profile(), preset);
        Measurement chosen = measured.get(best.index());
        out.println(Terminal.plain("The group follows " + chosen.clip() + ", its best exposed clip: " + best.reason(chosen)));
        return new SceneReference(readable.get(best.index()), chosen, camera.profile(), preset);
    }

    /**
     * The shoot measured ahead, for a profile to be found or a group's best clip. A clip that fails here is left out: it fails again in
     * its turn, and is reported then.
     *
     * @param reference of --match, which is not measured again; or null
     */
    private Map<Path, ClipRender.MeasuredAhead> measured(List<Job> jobs, ClipRender.MeasuredAhead reference, CameraProfile camera, PrintWriter err) {
        List<Job> looked = group ? jobs : jobs.subList(0, Math.min(jobs.size(), CameraProfile.MOST_CLIPS));
        ProgressLine progress = new ProgressLine(err, Terminal.isError(), looked.size());
        Map<Path, ClipRender.MeasuredAhead> known = new HashMap<>();
        for (Job job : looked) {
            if (reference != null && job.clip().equals(match)) {
                camera.saw(reference.measure().measurement());
                known.put(job.clip(), reference);
                continue;
            }
            progress.begin("measuring " + job.clip());
            long started = System.nanoTime();
            try (ClipReader reader = ClipReader.open(job.clip())) {
                FasterCode.expect(reader.info());
                ClipMeasure measured = ClipMeasure.of(reader, progress);
                if (!measured.damage().isGrave()) {
                    if (camera.isAuto()) {
                        camera.saw(measured.measurement());
                    }
                    known.put(job.clip(), new ClipRender.MeasuredAhead(measured, (System.nanoTime() - started) / 1e9));
                }
            } catch (RuntimeException | OutOfMemoryError reportedInItsTurn) {
                known.remove(job.clip());
            } finally {
                progress.clear();
            }
        }
        camera.choose();
        return known;
    }

    private void finish(PrintWriter out, PrintWriter err, ArrayNode results, int all, int failed) {
        if (json) {
            try {
                out.println(new ObjectMapper().writerWithDefaultPrettyPrinter().writeValueAsString(results));
            } catch (JsonProcessingException impossible) {
                throw new IllegalStateException(impossible);
            }
        } else if (failed < all) {
            out.println("A render is a copy: keep the camera originals until the copies are checked.");
            out.println("Broadcasters and platforms set their own level limits: check theirs before you deliver.");
        }
        out.flush();
        if (failed > 0 && all > 1) {
            err.println(failed + " of " + all + " clips failed" + (failed < all ? ", the others are in " + Terminal.plain(folder) : ""));
        }
    }

    private static Subject subjectNamed(String word) {
        try {
            return Subject.ofWord(word);
        } catch (InputException unknown) {
            throw new InputException("--subject: " + unknown.getMessage(), unknown);
        }
    }

    /** Where each clip goes. Nothing is rendered when two would meet, or one would replace an input. */
    private List<Job> jobs(List<Path> files, OutputCodec format) {
        Map<String, Job> byName = new LinkedHashMap<>();
        Map<Path, Path> inputs = new HashMap<>();
        files.forEach(file -> inputs.put(real(file), file));
        for (Path file : files) {
            String stem = ClipList.stem(file);
            Job job = new Job(file, folder.resolve(stem + ".evenstop." + format.extension()), folder.resolve(stem + ".correction.json"));
            Job other = byName.putIfAbsent(stem.toLowerCase(Locale.ROOT), job);
            if (other != null) {
                throw new InputException("nothing was rendered: " + (real(file).equals(real(other.clip())) ? file + " is named twice; name it once"
                    : other.clip() + " and " + file + " would both be written to " + other.output() + "; render them into two folders"));
            }
            for (Path written : List.of(job.output(), job.correction())) {
                Path input = inputs.get(real(written));
                if (input != null) {
                    throw new InputException("nothing was rendered: " + written + " would replace the input " + input + "; give another folder with --out");
                }
            }
        }
        return List.copyOf(byName.values());
    }

    private static Path real(Path path) {
        try {
            return path.toRealPath();
        } catch (IOException notThere) {
            return path.toAbsolutePath().normalize();
        }
    }

    private void makeFolder() {
        if (Files.exists(folder) && !Files.isDirectory(folder)) {
            throw new InputException("--out " + folder + " is a file; give a folder");
        }
        try {
            Files.createDirectories(folder);
        } catch (IOException refused) {
            throw new InputException("--out " + folder + ": the folder cannot be made (" + InputException.reason(refused) + "); give another", refused);
        }
        // Tried once up front, so that a hundred clips do not each say it.
        try (PendingFile trial = new PendingFile(folder.resolve("evenstop-trial"), true)) {
            if (!Files.isRegularFile(trial.path())) {
                throw new InputException("--out " + folder + ": files cannot be made in this folder; give another");
            }
        }
    }

    private static void print(ClipRender.Result r, PrintWriter out) {
        ClipRender.StageTimes t = r.times();
        out.println(Terminal.plain(r.clip() + " -> " + r.output()));
        out.println(String.format(Locale.ROOT, "  %+.2f stops through profile %s, preset %s, %d frames; correction in %s",
            r.correction().origin().stops(), r.correction().origin().profile(), r.correction().origin().preset(), r.frames(),
            Terminal.plain(r.correctionFile().getFileName())));
        LevelTable.beforeAndAfter(r.before().levels(), r.after()).forEach(out::println);
        out.println(String.format(Locale.ROOT, "  seconds    measure %.2f, decode %.2f, correct %.2f, encode %.2f; %.2f in all (stages overlap)",
            t.measure(), t.decode(), t.correct(), t.encode(), t.total()));
        r.notes().forEach(note -> out.println("  " + Terminal.plain(note)));
        out.flush();
    }

    private static void describe(ClipRender.Result r, ObjectNode node) {
        node.put("clip", r.clip().toString()).put("output", r.output().toString()).put("correction", r.correctionFile().toString())
            .put("frames", r.frames()).put("stops", r.correction().origin().stops());
        levels(r.before().levels(), node.putObject("before"));
        if (r.after() != null) {
            levels(r.after(), node.putObject("after"));
        }
        ClipRender.StageTimes t = r.times();
        node.putObject("seconds").put("measure", millis(t.measure())).put("decode", millis(t.decode())).put("correct", millis(t.correct()))
            .put("encode", millis(t.encode())).put("total", millis(t.total()));
        ArrayNode notes = node.putArray("notes");
        r.notes().forEach(notes::add);
    }

    private static void describe(ClipFollow follow, ObjectNode node) {
        LightTrack track = follow.track();
        node.put("steady", track.isSteady() && track.unsureShots() == 0).put("range", thousandths(track.range())).put("cuts", track.cuts())
            .put("framesNotJudged", track.framesNotJudged()).put("mostLift", thousandths(follow.limits().mostLift()))
            .put("mostPull", thousandths(follow.limits().mostPull())).put("heldBack", thousandths(follow.heldBack()));
        FlickerTrim trim = follow.trim();
        node.putObject("flicker").put("asShot", millionths(trim.changeAsShot())).put("untrimmed", millionths(trim.changeUntrimmed()))
            .put("trimmed", millionths(trim.changeTrimmed()));
        ArrayNode shots = node.putArray("shots");
        for (LightShot shot : track.shots()) {
            ObjectNode one = shots.addObject().put("firstFrame", shot.firstFrame()).put("lastFrame", shot.lastFrame())
                .put("from", thousandths(shot.fromSeconds())).put("to", thousandths(shot.toSeconds())).put("lowest", thousandths(shot.lowest()))
                .put("highest", thousandths(shot.highest())).put("sure", shot.isSure()).put("followed", shot.isFollowed());
            ArrayNode keys = one.putArray("keys");
            for (LightKey key : shot.keys()) {
                keys.addObject().put("seconds", key.seconds()).put("stops", key.stops());
            }
        }
    }

    private static double thousandths(double value) {
        return Math.round(value * 1000) / 1000.0 + 0.0;
    }

    /** A level as percent, to a ten-thousandth of a percent. */
    private static double millionths(double level) {
        return Math.round(level * 1e6) / 1e4 + 0.0;
    }

    private static double millis(double seconds) {
        return Math.round(seconds * 1000) / 1000.0;
    }

    private static void levels(LevelSummary l, ObjectNode node) {
        node.put("min", l.min()).put("p0_5", l.p0_5()).put("p1", l.p1()).put("p10", l.p10()).put("p50", l.p50()).put("p90", l.p90())
            .put("p99", l.p99()).put("p99_5", l.p99_5()).put("max", l.max());
    }
}
