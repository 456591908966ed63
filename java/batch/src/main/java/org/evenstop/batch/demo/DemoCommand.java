// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.IOException;
import java.io.PrintWriter;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.concurrent.Callable;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Stream;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.OutputCodec;
import org.evenstop.batch.media.PendingFile;
import org.evenstop.batch.render.ClipRender;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.measure.LevelSummary;
import org.evenstop.engine.profile.Profile;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Spec;

/** {@code evenstop demo}: makes a shoot with every kind of wrong exposure, normalises it and shows what came of it. */
@Command(name = "demo", mixinStandardHelpOptions = true, sortOptions = false,
    description = {"Makes a demo shoot of ten short clips with mixed exposures, measures and normalises them, and prints what was done.",
        "The clips are made by code: a day at a small boatyard that does not exist."})
public final class DemoCommand implements Callable<Integer> {
    private static final OutputCodec CODEC = OutputCodec.PRORES_HQ;
    private static final Pattern SIZE = Pattern.compile("(\\d{1,5})x(\\d{1,5})");
    private static final String PRESET = "even";
    private static final String PRESETS_PICTURE = "presets.png";
    private static final String PROFILE_FILE = "harbour.profile.json";

    @Option(names = "--out", paramLabel = "DIR",
        description = "Folder for all of it; what an earlier demo left there is replaced. Default: demo in the folder of Evenstop.")
    private Path folder;

    @Option(names = "--frames", paramLabel = "N", defaultValue = "24",
        description = "Frames of each clip, 1 to " + DemoShoot.MOST_FRAMES + ", at 24 a second. Default: ${DEFAULT-VALUE}.")
    private int frames;

    @Option(names = "--size", paramLabel = "WxH", defaultValue = "1920x1080", hidden = true, description = "Picture size, for tests.")
    private String size;

    @Option(names = "--json", description = "Print an array of results for machines; messages stay on the standard error stream.")
    private boolean json;

    @Spec
    private CommandSpec spec;

    private record Made(Shot shot, Path clip, ClipRender.Result result) {
    }

    @Override
    public Integer call() {
        PrintWriter err = spec.commandLine().getErr();
        long started = System.nanoTime();
        int threads = Math.max(1, Integer.getInteger("evenstop.threads", Runtime.getRuntime().availableProcessors()));
        DemoShoot shoot = shoot(threads);
        Path home = folder != null ? folder : defaultFolder();
        refuseFolderOfOthers(home);
        Path clips = made(home.resolve("clips"));
        Path normalised = made(home.resolve("normalised"));
        Path profileFile = home.resolve(PROFILE_FILE);
        write(profileFile, EvenstopFiles.toJson(shoot.profile()).getBytes(StandardCharsets.UTF_8));
        // Read back, so that what is used is what lies there.
        Profile profile = EvenstopFiles.profile(profileFile.toString());
        ClipRender render = new ClipRender(new ClipRender.Settings(CODEC, profile,
            EvenstopFiles.preset(PRESET), 1, true, threads), (stage, done, all) -> { });
        BeforeAfter sheet = BeforeAfter.of(DemoShoot.shots());
        PresetSheet presets = new PresetSheet(profile);
        List<Made> all = new ArrayList<>();
        for (Shot shot : DemoShoot.shots()) {
            err.println(String.format(Locale.ROOT, "demo: clip %d of %d: %s (%s)", all.size() + 1, DemoShoot.shots().size(), shot.name(), shot.how()));
            Path clip = clips.resolve(shot.name() + "." + CODEC.extension());
            DemoClip.film(shoot, shot, clip, CODEC);
            shoot.forgetUnneeded(shot);
            ClipRender.Result result = render.run(clip, normalised.resolve(shot.name() + ".evenstop." + CODEC.extension()),
                normalised.resolve(shot.name() + ".correction.json"));
            all.add(new Made(shot, clip, result));
            PlanarFrame before = middle(clip);
            presets.add(shot, result.before(), before);
            sheet.add(shot.how(), before, String.format(Locale.ROOT, "after: %+.1f stops", result.correction().origin().stops()),
                middle(result.output()));
        }
        Path picture = home.resolve("before-after.png");
        write(picture, sheet.png());
        write(home.resolve(PRESETS_PICTURE), presets.png());
        PrintWriter out = spec.commandLine().getOut();
        if (json) {
            printJson(all, out);
        } else {
            printTable(all, out);
            printNext(home, clips, normalised, profileFile, picture, (System.nanoTime() - started) / 1e9, out);
        }
        out.flush();
        return 0;
    }

    private DemoShoot shoot(int threads) {
        if (frames < 1 || frames > DemoShoot.MOST_FRAMES) {
            throw new InputException("--frames " + frames + " is outside 1.." + DemoShoot.MOST_FRAMES + "; give the number of frames of each clip, as in 24");
        }
        Matcher wanted = SIZE.matcher(size);
        if (!wanted.matches()) {
            throw new InputException("--size " + size + " is no size; give width and height as in 1920x1080");
        }
        try {
            return new DemoShoot(Integer.parseInt(wanted.group(1)), Integer.parseInt(wanted.group(2)), frames, threads);
        } catch (IllegalArgumentException outside) {
            throw new InputException("demo: " + outside.getMessage(), outside);
        }
    }

    private static Path defaultFolder() {
        String home = System.getProperty("evenstop.home");
        return home == null || home.isBlank() ? Path.of("demo") : Path.of(home, "demo");
    }

    /** What lies in the folder is replaced, so it must be empty, new, or hold an earlier demo. */
    private static void refuseFolderOfOthers(Path home) {
        if (home.toString().isBlank()) {
            throw new InputException("--out is empty; give a folder for the demo");
        }
        if (!Files.isDirectory(home) || Files.isRegularFile(home.resolve(PROFILE_FILE)) && Files.isDirectory(home.resolve("clips"))) {
            return;
        }
        try (Stream<Path> inside = Files.list(home)) {
            if (inside.findAny().isPresent()) {
                throw new InputException("--out " + home + ": the folder is not empty and holds no earlier demo (" + PROFILE_FILE
                    + " and clips); nothing was written: give a new or an empty folder");
            }
        } catch (IOException unreadable) {
            throw new InputException("--out " + home + ": the folder cannot be read (" + InputException.reason(unreadable) + "); give another", unreadable);
        }
    }

    private static Path made(Path wanted) {
        try {
            return Files.createDirectories(wanted);
        } catch (IOException refused) {
            throw new InputException(wanted + ": the folder cannot be made (" + InputException.reason(refused) + "); give another with --out", refused);
        }
    }

    private static void write(Path target, byte[] content) {
        try (PendingFile file = new PendingFile(target, true)) {
            Files.write(file.path(), content);
            file.commit();
        } catch (IOException failed) {
            throw new InputException(target + ": could not be written (" + InputException.reason(failed) + "); give another folder with --out", failed);
        }
    }

    /** A copy of the frame in the middle of a clip. */
    private static PlanarFrame middle(Path clip) {
        PlanarFrame[] kept = new PlanarFrame[1];
        int[] seen = {0};
        try (ClipReader reader = ClipReader.open(clip)) {
            reader.sample(3, frame -> {
                if (seen[0]++ < 2) {
                    PlanarFrame from = frame.picture();
                    PlanarFrame to = from.allocateLike();
                    for (int y = 0; y < from.height(); y++) {
                        for (int x = 0; x < from.width(); x++) {
                            to.setLumaCode(x, y, from.lumaCode(x, y));
                        }
                    }
                    for (int y = 0; y < from.sampling().chromaHeight(from.height()); y++) {
                        for (int x = 0; x < from.sampling().chromaWidth(from.width()); x++) {
                            to.setCbCode(x, y, from.cbCode(x, y));
                            to.setCrCode(x, y, from.crCode(x, y));
                        }
                    }
                    kept[0] = to;
                }
            });
        }
        return kept[0];
    }

    private static void printTable(List<Made> all, PrintWriter out) {
        String line = "%-19s %-34s %6s %6s %6s   %6s %6s %6s   %s";
        out.println(String.format(Locale.ROOT, line, "", "", "", "before", "", "", "after", "", "stops"));
        out.println(String.format(Locale.ROOT, line, "clip", "how it was shot", "0.5 %", "50 %", "99.5 %", "0.5 %", "50 %", "99.5 %", "applied"));
        for (Made made : all) {
            LevelSummary before = made.result().before().levels();
            LevelSummary after = made.result().after();
            out.println(String.format(Locale.ROOT, line, made.shot().name(), made.shot().how(), level(before.p0_5()), level(before.p50()),
                level(before.p99_5()), after == null ? "-" : level(after.p0_5()), after == null ? "-" : level(after.p50()),
                after == null ? "-" : level(after.p99_5()), String.format(Locale.ROOT, "%+.2f", made.result().correction().origin().stops())));
        }
        for (Made made : all) {
            made.result().notes().forEach(note -> out.println(made.shot().name() + ": " + note));
        }
        out.println("Columns 0.5 %, 50 %, 99.5 %: the level below which that share of the picture lies; 0 is black, 100 nominal white.");
    }

    private static String level(double percent) {
        return String.format(Locale.ROOT, "%.1f", percent);
    }

    private static void printNext(Path home, Path clips, Path normalised, Path profile, Path picture, double seconds, PrintWriter out) {
        out.println();
        out.println(String.format(Locale.ROOT, "Done in %.0f s. Everything is in %s:", seconds, home));
        out.println("  as it was shot      " + clips);
        out.println("  normalised          " + normalised + "   (each with its correction)");
        out.println("  the camera setting  " + profile);
        out.println("  before and after    " + picture);
        out.println("  every preset        " + home.resolve(PRESETS_PICTURE));
        out.println();
        out.println("Try next:");
        out.println("  ./evenstop measure " + clips + "   levels, skin and clipping of each clip");
        out.println("  ./evenstop render " + clips.resolve(DemoShoot.shots().get(5).name() + ".mov") + " --out tried --subject face --profile " + profile);
        out.println("  ./evenstop render YOUR_CLIPS --out normalised   your own clips; originals are never changed");
    }

    private static void printJson(List<Made> all, PrintWriter out) {
        ObjectMapper mapper = new ObjectMapper();
        ArrayNode list = mapper.createArrayNode();
        for (Made made : all) {
            ClipRender.Result result = made.result();
            ObjectNode node = list.addObject().put("clip", made.clip().toString()).put("how", made.shot().how())
                .put("output", result.output().toString()).put("correction", result.correctionFile().toString())
                .put("stops", result.correction().origin().stops());
            node.set("before", mapper.valueToTree(result.before().levels()));
            node.set("after", mapper.valueToTree(result.after()));
        }
        try {
            out.println(mapper.writerWithDefaultPrettyPrinter().writeValueAsString(list));
        } catch (JsonProcessingException impossible) {
            throw new IllegalStateException(impossible);
        }
    }
}
