// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.evaluate;

import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.PrintWriter;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.function.ToDoubleFunction;
import org.evenstop.engine.evaluate.BracketEvaluation;
import org.evenstop.engine.evaluate.BracketEvaluation.Exposed;
import org.evenstop.engine.evaluate.Family;
import org.evenstop.engine.evaluate.SceneCamera;
import org.evenstop.engine.evaluate.Way;

/** What an evaluation found, as text, as JSON, and as the rows that miss what is promised. */
final class EvaluationReport {
    private final List<BracketEvaluation> all;
    private final Setting setting;

    /** How the evaluation was made. */
    record Setting(int pictures, int pixels, int bits, long seed, String preset, List<String> profiles) {
    }

    /** One row of the table: a way of normalising for one family of cameras, over all pictures, at two stops either way. */
    record Row(Family family, Way way, int brackets, double mean, double p95, double nearer) {
        boolean isNearEnough() {
            return way.isBaseline() || mean <= way.limit();
        }

        boolean isNearerEnough() {
            return !way.hasRightFamily() || nearer >= Way.NEARER;
        }

        String name() {
            return way.word() + ", " + family.word() + " cameras";
        }
    }

    EvaluationReport(List<BracketEvaluation> all, Setting setting) {
        this.all = List.copyOf(all);
        this.setting = setting;
    }

    private List<BracketEvaluation> of(Family family) {
        return all.stream().filter(e -> e.family() == family).toList();
    }

    private static double average(List<BracketEvaluation> brackets, Way way, ToDoubleFunction<BracketEvaluation> value) {
        return brackets.stream().filter(e -> e.results().containsKey(way)).mapToDouble(value).average().orElse(Double.NaN);
    }

    /** Rows of ways that were tried, in the order of the table. */
    List<Row> rows() {
        List<Row> rows = new ArrayList<>();
        for (Family family : Family.values()) {
            List<BracketEvaluation> brackets = of(family);
            for (Way way : Way.values()) {
                int n = (int) brackets.stream().filter(e -> e.results().containsKey(way)).count();
                if (n > 0) {
                    double mean = average(brackets, way, e -> e.meanAtTwoStops(way));
                    // Against the stretch of the same brackets.
                    double stretch = average(brackets, way, e -> e.meanAtTwoStops(Way.STRETCH));
                    rows.add(new Row(family, way, n, mean, average(brackets, way, e -> e.p95AtTwoStops(way)), stretch / mean));
                }
            }
        }
        return rows;
    }

    /** One line for each row that misses what is promised. */
    List<String> missed() {
        List<String> missed = new ArrayList<>();
        for (Row row : rows()) {
            if (!row.isNearEnough()) {
                missed.add(String.format(Locale.ROOT, "%s: mean %.2f is above %.1f", row.name(), row.mean(), row.way().limit()));
            }
            if (!row.isNearerEnough()) {
                missed.add(String.format(Locale.ROOT, "%s: %.1f times nearer than the percentile stretch is under %.0f", row.name(), row.nearer(), Way.NEARER));
            }
        }
        return missed;
    }

    void printText(PrintWriter out) {
        out.println(String.format(Locale.ROOT, "%d pictures of about %,d pixels at -2, -1, 0, +1 and +2 stops; %d bit, preset %s, seed %d, %s",
            setting.pictures(), setting.pixels(), setting.bits(), setting.preset(), setting.seed(),
            setting.profiles().isEmpty() ? "cameras invented from the seeds in their names" : "cameras " + String.join(", ", setting.profiles())));
        out.println(String.format(Locale.ROOT, "noise in light: %.4f read, %.4f sqrt(light) shot; mid grey 0.18", SceneCamera.READ_NOISE, SceneCamera.SHOT_NOISE));
        out.println("CIEDE2000 to the middle exposure's result on 8x8 block means of pixels not clipped in either: mean / 95th percentile");
        for (Family family : Family.values()) {
            if (!of(family).isEmpty()) {
                printPictures(family, out);
            }
        }
        printExposures(out);
        printRows(out);
        printMisses(out);
    }

    private List<Way> ways() {
        return Arrays.stream(Way.values()).filter(way -> all.stream().anyMatch(e -> e.results().containsKey(way))).toList();
    }

    private void printPictures(Family family, PrintWriter out) {
        out.println();
        out.println("Per picture, " + family.word() + " cameras, -2 and +2 stops");
        StringBuilder head = new StringBuilder(String.format(Locale.ROOT, "%-24s %-12s %9s", "picture", "camera", "lost at+2"));
        ways().forEach(way -> head.append(String.format(Locale.ROOT, " %11s", way.word())));
        out.println(head);
        for (BracketEvaluation e : of(family)) {
            StringBuilder line = new StringBuilder(String.format(Locale.ROOT, "%-24s %-12s %7.1f %%", e.picture(), e.camera().name(),
                100 * e.clipped()[e.clipped().length - 1]));
            for (Way way : ways()) {
                line.append(e.results().containsKey(way)
                    ? String.format(Locale.ROOT, " %5.2f/%5.2f", e.meanAtTwoStops(way), e.p95AtTwoStops(way)) : String.format(Locale.ROOT, " %11s", "-"));
            }
            out.println(line);
        }
    }

    private void printExposures(PrintWriter out) {
        out.println();
        out.println("Per exposure, all pictures");
        StringBuilder head = new StringBuilder(String.format(Locale.ROOT, "%-10s %-12s", "cameras", "way"));
        for (int stops : BracketEvaluation.stops()) {
            head.append(stops == 0 ? "" : String.format(Locale.ROOT, " %11s", String.format(Locale.ROOT, "%+d stops", stops)));
        }
        out.println(head);
        for (Family family : Family.values()) {
            for (Way way : ways()) {
                List<BracketEvaluation> brackets = of(family).stream().filter(e -> e.results().containsKey(way)).toList();
                if (brackets.isEmpty()) {
                    continue;
                }
                StringBuilder line = new StringBuilder(String.format(Locale.ROOT, "%-10s %-12s", family.word(), way.word()));
                for (int i = 0; i < brackets.get(0).results().get(way).size(); i++) {
                    int index = i;
                    double mean = average(brackets, way, e -> e.results().get(way).get(index).difference().mean());
                    double p95 = average(brackets, way, e -> e.results().get(way).get(index).difference().p95());
                    line.append(String.format(Locale.ROOT, " %5.2f/%5.2f", mean, p95));
                }
                out.println(line);
            }
        }
    }

    private void printRows(PrintWriter out) {
        out.println();
        out.println("Overall, -2 and +2 stops");
        out.println(String.format(Locale.ROOT, "%-10s %-44s %6s %6s %8s %14s  %s", "cameras", "way", "mean", "95 %", "promised", "than stretch", "verdict"));
        for (Row row : rows()) {
            boolean met = row.isNearEnough() && row.isNearerEnough();
            out.println(String.format(Locale.ROOT, "%-10s %-44s %6.2f %6.2f %8s %14s  %s", row.family().word(), row.way().label(), row.mean(), row.p95(),
                row.way().isBaseline() ? "" : String.format(Locale.ROOT, "<= %.1f", row.way().limit()),
                String.format(Locale.ROOT, "%.1f x nearer", row.nearer()), row.way().isBaseline() ? "" : met ? "met" : "missed"));
        }
    }

    private void printMisses(PrintWriter out) {
        List<String> misses = pictureMisses();
        out.println();
        out.println(misses.isEmpty() ? "Every picture keeps to the table by itself."
            : "Pictures that miss the table by themselves (they count in all figures above), and why");
        misses.forEach(out::println);
        all.forEach(e -> e.notes().forEach(note -> out.println(e.picture() + ", " + e.camera().name() + ": " + note)));
    }

    private List<String> pictureMisses() {
        List<String> misses = new ArrayList<>();
        for (Way way : ways()) {
            for (BracketEvaluation e : all) {
                if (!way.isBaseline() && e.results().containsKey(way) && e.meanAtTwoStops(way) > way.limit()) {
                    Exposed worst = worst(e, way);
                    misses.add(String.format(Locale.ROOT, "%-11s %-24s %-12s %5.2f, of which %.2f at %+d stops: %s", way.word(), e.picture(), e.camera().name(),
                        e.meanAtTwoStops(way), worst.difference().mean(), worst.stops(), reason(e, way, worst)));
                }
            }
        }
        return misses;
    }

    private static Exposed worst(BracketEvaluation e, Way way) {
        Exposed worst = e.results().get(way).get(0);
        for (Exposed exposed : e.results().get(way)) {
            worst = Math.abs(exposed.stops()) == 2 && exposed.difference().mean() > worst.difference().mean() ? exposed : worst;
        }
        return worst;
    }

    private static String reason(BracketEvaluation e, Way way, Exposed worst) {
        List<String> reasons = new ArrayList<>();
        int index = Arrays.binarySearch(BracketEvaluation.stops(), worst.stops());
        if (Math.abs(worst.drift()) >= 0.05 && (way == Way.KNOWN || way == Way.CALIBRATED)) {
            reasons.add(String.format(Locale.ROOT, "lands %.2f stops %s than the middle", Math.abs(worst.drift()), worst.drift() > 0 ? "brighter" : "darker"));
        }
        if (e.clipped()[index] > 0.02) {
            reasons.add(String.format(Locale.ROOT, "%.0f %% of the picture is clipped", 100 * e.clipped()[index]));
        }
        if (e.inNoise()[index] > 0.05) {
            reasons.add(String.format(Locale.ROOT, "%.0f %% of the picture lies in noise", 100 * e.inNoise()[index]));
        }
        worst.notes().stream().filter(note -> note.startsWith("Lifted") || note.startsWith("Wanted") || note.startsWith("The clip is noisier"))
            .forEach(note -> reasons.add("the solver says: " + note.replaceAll("\\.$", "")));
        if (way == Way.RIGHT || way == Way.WRONG || way == Way.MATCHED) {
            reasons.add("the curve is not the camera's");
        }
        return reasons.isEmpty() ? "noise and rounding after the change" : String.join("; ", reasons);
    }

    void printJson(PrintWriter out) {
        ObjectMapper mapper = new ObjectMapper();
        ObjectNode root = mapper.createObjectNode();
        ObjectNode how = root.putObject("setting");
        how.put("pictures", setting.pictures()).put("pixels", setting.pixels()).put("bits", setting.bits()).put("seed", setting.seed());
        how.put("preset", setting.preset()).put("readNoise", SceneCamera.READ_NOISE).put("shotNoise", SceneCamera.SHOT_NOISE);
        ArrayNode given = how.putArray("profiles");
        setting.profiles().forEach(given::add);
        ArrayNode rows = root.putArray("rows");
        for (Row row : rows()) {
            ObjectNode node = rows.addObject();
            node.put("cameras", row.family().word()).put("way", row.way().word()).put("brackets", row.brackets());
            node.put("mean", rounded(row.mean())).put("p95", rounded(row.p95())).put("timesNearerThanStretch", rounded(row.nearer()));
            if (!row.way().isBaseline()) {
                node.put("promised", row.way().limit()).put("met", row.isNearEnough() && row.isNearerEnough());
            }
        }
        ArrayNode brackets = root.putArray("brackets");
        for (BracketEvaluation e : all) {
            ObjectNode node = brackets.addObject();
            node.put("picture", e.picture()).put("camera", e.camera().name()).put("cameras", e.family().word());
            ObjectNode ways = node.putObject("ways");
            e.results().forEach((way, exposures) -> {
                ArrayNode list = ways.putArray(way.word());
                for (Exposed exposed : exposures) {
                    int index = Arrays.binarySearch(BracketEvaluation.stops(), exposed.stops());
                    ObjectNode one = list.addObject();
                    one.put("stops", exposed.stops()).put("mean", rounded(exposed.difference().mean())).put("p95", rounded(exposed.difference().p95()));
                    one.put("blocks", exposed.difference().blocks()).put("clipped", rounded(e.clipped()[index])).put("inNoise", rounded(e.inNoise()[index]));
                    if (exposed.drift() == exposed.drift()) {
                        one.put("drift", rounded(exposed.drift()));
                    }
                    ArrayNode notes = one.putArray("notes");
                    exposed.notes().forEach(notes::add);
                }
            });
            ArrayNode notes = node.putArray("notes");
            e.notes().forEach(notes::add);
        }
        ArrayNode missed = root.putArray("missed");
        missed().forEach(missed::add);
        ArrayNode pictures = root.putArray("pictureMisses");
        pictureMisses().forEach(pictures::add);
        try {
            out.println(mapper.writerWithDefaultPrettyPrinter().writeValueAsString(root));
        } catch (JsonProcessingException impossible) {
            throw new IllegalStateException(impossible);
        }
    }

    private static double rounded(double value) {
        return Math.round(value * 1e4) / 1e4 + 0.0;
    }
}
