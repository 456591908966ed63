// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.core.StreamReadConstraints;
import com.fasterxml.jackson.core.StreamReadFeature;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.ObjectWriter;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.JsonNodeFactory;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.NoSuchFileException;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Base64;
import java.util.List;
import java.util.function.Function;
import org.evenstop.engine.InputException;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.LevelSummary;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.measure.PixelSample;
import org.evenstop.engine.measure.Skin;
import org.evenstop.engine.measure.TileDetail;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.ChromaTrim;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Subject;

/**
 * The four JSON kinds: profile, preset, measurement, correction. Every problem is an {@link InputException} of one line that
 * begins with the file's name. Levels in files are percent; in memory, curves and profiles use fractions.
 *
 * <p>Files are UTF-8. One over 4 MiB is refused unread; unknown and repeated fields, numbers that are not finite, and arrays or
 * texts beyond their bounds are refused.
 */
public final class EvenstopFiles {
    public static final int SCHEMA = 1;
    public static final long LARGEST_FILE = 4L << 20;
    /** The shipped presets and profiles, in the order in which menus list them; the first is the default. Never reordered, only added to. */
    private static final List<String> PRESETS = List.of("even", "face", "landscape", "lowLight", "airy", "tuck");
    private static final List<String> PROFILES = List.of("cinema-soft", "rec709-knee", "srgb-screen");
    private static final String RESOURCES = "/org/evenstop/engine/presets/";

    private static final JsonFactory FACTORY = JsonFactory.builder()
        .streamReadConstraints(StreamReadConstraints.builder().maxNestingDepth(16).maxStringLength((int) LARGEST_FILE)
            .maxNumberLength(64).build())
        .enable(StreamReadFeature.STRICT_DUPLICATE_DETECTION)
        .build();

    /** Made when the first text is written: a plug-in's first frame only reads. */
    private static final class Writing {
        static final ObjectWriter PRETTY = new ObjectMapper().writer(new PlainPrinter());
    }

    private EvenstopFiles() {
    }

    public static List<String> presetNames() {
        return PRESETS;
    }

    public static List<String> profileNames() {
        return PROFILES;
    }

    /** A shipped profile by name, or one from a file (anything that ends in .json or holds a path separator). */
    public static Profile profile(String nameOrFile) {
        return named(nameOrFile, "profile", "profiles/", PROFILES, text -> profileFromJson(text.text, text.where));
    }

    /** A shipped preset by name, or one from a file. */
    public static Preset preset(String nameOrFile) {
        return named(nameOrFile, "preset", "", PRESETS, text -> presetFromJson(text.text, text.where));
    }

    private record Text(String text, String where) {
    }

    private static <T> T named(String nameOrFile, String kind, String folder, List<String> shipped, Function<Text, T> reader) {
        if (shipped.contains(nameOrFile)) {
            String resource = RESOURCES + folder + nameOrFile + ".json";
            try (InputStream in = EvenstopFiles.class.getResourceAsStream(resource)) {
                if (in == null) {
                    throw new IllegalStateException("the shipped " + kind + " " + nameOrFile + " is missing from this build");
                }
                return reader.apply(new Text(new String(in.readAllBytes(), StandardCharsets.UTF_8), nameOrFile));
            } catch (IOException e) {
                throw new UncheckedIOException(e);
            }
        }
        if (nameOrFile.endsWith(".json") || nameOrFile.contains("/") || nameOrFile.contains("\\")) {
            Path file;
            try {
                file = Path.of(nameOrFile);
            } catch (java.nio.file.InvalidPathException e) {
                throw new InputException(nameOrFile + ": is not a file name (" + e.getReason() + "); give a JSON file", e);
            }
            return reader.apply(new Text(read(file), nameOrFile));
        }
        String near = NearestName.of(nameOrFile, shipped);
        throw new InputException(kind + " '" + nameOrFile + "' is not known; " + (near == null ? "" : "did you mean '" + near + "'? if not, ")
            + "give one of " + String.join(", ", shipped) + ", or a file that ends in .json");
    }

    /** Text of a JSON file of ours, refused unread when it is too large. */
    public static String read(Path file) {
        try {
            if (Files.isDirectory(file)) {
                throw new InputException(file + ": is a folder; give a JSON file");
            }
            long size = Files.size(file);
            if (size > LARGEST_FILE) {
                throw new InputException(file + ": " + size + " bytes is larger than " + LARGEST_FILE + " (4 MiB); this is not a file of ours");
            }
            // A device or a pipe says 0 and may never end.
            byte[] text;
            try (InputStream in = Files.newInputStream(file)) {
                text = in.readNBytes((int) LARGEST_FILE + 1);
            }
            if (text.length > LARGEST_FILE) {
                throw new InputException(file + ": is larger than " + LARGEST_FILE + " bytes (4 MiB); this is not a file of ours");
            }
            return StandardCharsets.UTF_8.newDecoder().decode(ByteBuffer.wrap(text)).toString();
        } catch (NoSuchFileException e) {
            throw new InputException(file + ": there is no such file; check the name", e);
        } catch (java.nio.charset.CharacterCodingException e) {
            throw new InputException(file + ": is not UTF-8 text; give a JSON file", e);
        } catch (IOException e) {
            throw new InputException(file + ": cannot be read (" + InputException.reason(e) + "); check the file", e);
        }
    }

    private static StrictObject root(String text, String where, String kind) {
        JsonNode node;
        if (text.length() > LARGEST_FILE) {
            throw new InputException(where + ": " + text.length() + " characters are more than 4 MiB; this is not a file of ours");
        }
        try {
            // Some editors put a byte-order mark first; it means nothing in UTF-8.
            node = JsonTree.read(FACTORY, text.startsWith("\ufeff") ? text.substring(1) : text);
        } catch (JsonProcessingException e) {
            throw new InputException(where + ": " + problem(e), e);
        }
        StrictObject root = new StrictObject(where, "", node);
        String found = root.text("kind", 40);
        if (!found.equals(kind)) {
            throw root.error("kind", "is '" + found + "'; a " + kind + " file is wanted here");
        }
        int schema = root.integer("schema", 1, 1_000_000);
        if (schema > SCHEMA) {
            throw root.error("schema", schema + " is newer than this program knows (" + SCHEMA + "); update Evenstop");
        }
        return root;
    }

    /** What is wrong with text that is not JSON, in our words. */
    private static String problem(JsonProcessingException e) {
        String said = e.getOriginalMessage() == null ? "" : e.getOriginalMessage();
        String place = e.getLocation() == null || e.getLocation().getLineNr() < 1 ? ""
            : " at line " + e.getLocation().getLineNr() + ", column " + e.getLocation().getColumnNr();
        if (said.contains("Duplicate field")) {
            String name = said.replaceAll("(?s).*Duplicate field '([^']{0,40}).*", "$1");
            return "is not valid JSON: it has the field '" + name + "' twice" + place + "; keep one of them";
        }
        if (said.contains("Trailing token") || said.contains("trailing token")) {
            return "is not valid JSON: it goes on after its end" + place + "; keep one JSON object only";
        }
        if (said.contains("Non-standard token") || said.contains("NaN") || said.contains("INF")) {
            return "is not valid JSON: it holds a number that is not finite" + place + "; write a plain number";
        }
        if (e instanceof com.fasterxml.jackson.core.exc.StreamConstraintsException) {
            return "is not valid JSON of ours: it is nested deeper than 16 levels, or holds a number or text that is too long" + place + "; make the file anew";
        }
        return "is not valid JSON" + place + "; mend it there, or make the file anew";
    }

    private static <T> T built(String where, java.util.function.Supplier<T> maker) {
        try {
            return maker.get();
        } catch (IllegalArgumentException e) {
            throw new InputException(where + ": " + e.getMessage(), e);
        }
    }

    // ---- profile

    public static Profile profileFromJson(String text, String where) {
        StrictObject root = root(text, where, "profile");
        String name = name(root);
        String label = root.text("label", 80, name);
        String note = root.text("note", 2000, "");
        StrictObject tone = root.object("tone");
        double[] stops = tone.numbers("stops", 4, 256, -20, 12);
        double[] levels = tone.numbers("levels", 4, 256, -7, 109.11);
        tone.done();
        StrictObject chroma = root.object("chroma");
        double[] lumas = chroma.numbers("lumas", 2, 64, -7, 110);
        double[] factors = chroma.numbers("factors", 2, 64, 0.05, 4);
        chroma.done();
        root.done();
        return built(where, () -> new Profile(name, label, note, stops, fractions(levels), fractions(lumas), factors));
    }

    public static String toJson(Profile profile) {
        ObjectNode root = head("profile");
        root.put("name", profile.name()).put("label", profile.label()).put("note", profile.note());
        ObjectNode tone = root.putObject("tone");
        putNumbers(tone, "stops", profile.stops());
        putNumbers(tone, "levels", percents(profile.levels()));
        ObjectNode chroma = root.putObject("chroma");
        putNumbers(chroma, "lumas", percents(profile.chromaLumas()));
        putNumbers(chroma, "factors", profile.chromaFactors());
        return pretty(root);
    }

    // ---- preset

    public static Preset presetFromJson(String text, String where) {
        StrictObject root = root(text, where, "preset");
        String name = name(root);
        String label = root.text("label", 80, name);
        String note = root.text("note", 2000, "");
        String subject = root.text("subject", 20);
        double[] v = {root.number("subjectLevel", 5, 80), root.number("brightLevel", 10, 105), root.number("brightTo", 10, 109),
            root.number("skinFrom", 10, 80), root.number("skinTo", 10, 90), root.number("shadowLevel", 0, 30),
            root.number("highlightLevel", 50, 109), root.number("steepest", 1, 3), root.number("largestLift", 0, 6),
            root.number("largestPull", 0, 6), root.number("noiseLimit", 0.1, 10), root.number("chromaBalance", 0, 2, 1),
            root.number("exposureTrim", -3, 3, 0)};
        ChromaTrim trim = new ChromaTrim(root.number("darkChroma", 0, 2, 1), root.number("brightChroma", 0, 2, 1));
        root.done();
        Subject aim = subject(subject, where);
        return built(where, () -> new Preset(name, label, note, aim, v[0], v[1], v[2], v[3], v[4], v[5], v[6], v[7], v[8], v[9], v[10], v[11], v[12],
            trim));
    }

    public static String toJson(Preset p) {
        ObjectNode root = head("preset");
        root.put("name", p.name()).put("label", p.label()).put("note", p.note()).put("subject", p.subject().word());
        root.put("subjectLevel", p.subjectLevel()).put("brightLevel", p.brightLevel()).put("brightTo", p.brightTo());
        root.put("skinFrom", p.skinFrom()).put("skinTo", p.skinTo()).put("shadowLevel", p.shadowLevel());
        root.put("highlightLevel", p.highlightLevel()).put("steepest", p.steepest()).put("largestLift", p.largestLift());
        root.put("largestPull", p.largestPull()).put("noiseLimit", p.noiseLimit()).put("chromaBalance", p.chromaBalance());
        root.put("exposureTrim", p.exposureTrim());
        if (!p.chromaTrim().isNone()) {
            root.put("darkChroma", p.chromaTrim().dark()).put("brightChroma", p.chromaTrim().bright());
        }
        return pretty(root);
    }

    // ---- measurement

    /** @param withSample keep the pixels that solving needs; without them the file is for reading only */
    public static String toJson(Measurement m, boolean withSample) {
        return pretty(tree(m, withSample));
    }

    /** An array of measurement objects, as {@code measure --json} prints it. */
    public static String toJson(List<Measurement> measurements, boolean withSample) {
        ArrayNode array = JsonNodeFactory.instance.arrayNode();
        for (Measurement m : measurements) {
            array.add(tree(m, withSample));
        }
        return pretty(array);
    }

    private static ObjectNode tree(Measurement m, boolean withSample) {
        ObjectNode root = head("measurement");
        root.put("clip", m.clip()).put("frames", m.frames());
        putLevels(root, "levels", m.levels());
        putLevels(root, "red", m.red());
        putLevels(root, "green", m.green());
        putLevels(root, "blue", m.blue());
        root.put("clippedHigh", m.clippedHigh()).put("clippedLow", m.clippedLow()).put("ceiling", m.ceiling());
        ObjectNode skin = root.putObject("skin");
        skin.put("share", m.skin().share());
        putNumberOrNull(skin, "median", m.skin().median());
        putNumberOrNull(skin, "lowerQuartile", m.skin().lowerQuartile());
        putNumberOrNull(skin, "upperQuartile", m.skin().upperQuartile());
        root.put("subject", m.subject()).put("noise", m.noise()).put("noiseTiles", m.noiseTiles());
        ArrayNode detail = root.putArray("detail");
        for (TileDetail tiles : m.detail()) {
            ArrayNode quantiles = detail.addObject().put("level", tiles.level()).put("share", tiles.share()).putArray("quantiles");
            tiles.quantiles().forEach(quantiles::add);
        }
        ArrayNode chroma = root.putArray("chroma");
        for (Measurement.ChromaZone zone : m.chroma()) {
            chroma.addObject().put("from", zone.from()).put("to", zone.to()).put("share", zone.share()).put("chroma", zone.chroma());
        }
        root.putObject("area").put("left", m.area().left()).put("top", m.area().top()).put("right", m.area().right()).put("bottom", m.area().bottom());
        root.putObject("horizon").put("position", m.horizon().position()).put("confidence", m.horizon().confidence());
        putTexts(root, "notes", m.notes());
        if (withSample) {
            short[] triples = m.sample().triples();
            ByteBuffer bytes = ByteBuffer.allocate(2 * triples.length).order(ByteOrder.LITTLE_ENDIAN);
            bytes.asShortBuffer().put(triples);
            root.putObject("sample").put("luma", m.sample().standard().label()).put("pixels", m.sample().size())
                .put("data", Base64.getEncoder().encodeToString(bytes.array()));
        }
        return root;
    }

    /** Files of before it was measured have none. */
    private static List<TileDetail> details(StrictObject root) {
        List<TileDetail> details = new ArrayList<>();
        for (StrictObject tiles : root.objects("detail", 64)) {
            double level = tiles.number("level", -250, 250);
            double share = tiles.number("share", 0, 1);
            double[] quantiles = tiles.numbers("quantiles", TileDetail.COUNT, TileDetail.COUNT, 0, 250);
            for (int i = 1; i < quantiles.length; i++) {
                if (quantiles[i] < quantiles[i - 1]) {
                    throw tiles.error("quantiles", "fall from " + StrictObject.plain(quantiles[i - 1]) + " to " + StrictObject.plain(quantiles[i])
                        + "; give them rising");
                }
            }
            details.add(new TileDetail(level, share, Arrays.stream(quantiles).boxed().toList()));
            tiles.done();
        }
        return details;
    }

    public static Measurement measurementFromJson(String text, String where) {
        StrictObject root = root(text, where, "measurement");
        String clip = root.text("clip", 4096);
        int frames = root.integer("frames", 1, 100_000_000);
        LevelSummary levels = levels(root, "levels");
        LevelSummary red = levels(root, "red");
        LevelSummary green = levels(root, "green");
        LevelSummary blue = levels(root, "blue");
        double clippedHigh = root.number("clippedHigh", 0, 1);
        double clippedLow = root.number("clippedLow", 0, 1);
        double ceiling = root.number("ceiling", -250, 250);
        StrictObject skin = root.object("skin");
        Skin found = new Skin(skin.number("share", 0, 1), skin.numberOrNull("median", -250, 250),
            skin.numberOrNull("lowerQuartile", -250, 250), skin.numberOrNull("upperQuartile", -250, 250));
        skin.done();
        double subject = root.number("subject", -250, 250);
        double noise = root.number("noise", 0, 250);
        int noiseTiles = root.has("noiseTiles") ? root.integer("noiseTiles", 0, Integer.MAX_VALUE) : 0;
        List<TileDetail> detail = root.has("detail") ? details(root) : List.of();
        List<Measurement.ChromaZone> zones = new ArrayList<>();
        for (StrictObject zone : root.objects("chroma", 64)) {
            zones.add(new Measurement.ChromaZone(zone.number("from", -250, 250), zone.number("to", -250, 250), zone.number("share", 0, 1),
                zone.number("chroma", 0, 8)));
            zone.done();
        }
        StrictObject area = root.object("area");
        Measurement.PictureArea picture = new Measurement.PictureArea(area.number("left", 0, 1), area.number("top", 0, 1),
            area.number("right", 0, 1), area.number("bottom", 0, 1));
        area.done();
        StrictObject horizon = root.object("horizon");
        Measurement.Horizon line = new Measurement.Horizon(horizon.number("position", 0, 1), horizon.number("confidence", 0, 1));
        horizon.done();
        List<String> notes = root.texts("notes", 64, 1000);
        PixelSample sample = root.has("sample") ? sample(root.object("sample")) : new PixelSample(LumaStandard.BT709, new short[0]);
        root.done();
        return new Measurement(clip, frames, levels, red, green, blue, clippedHigh, clippedLow, ceiling, found, subject, noise, noiseTiles, detail, zones,
            picture, line, sample, notes);
    }

    private static PixelSample sample(StrictObject object) {
        LumaStandard standard = standard(object, "luma");
        int pixels = object.integer("pixels", 0, 262_144);
        String data = object.text("data", (int) LARGEST_FILE);
        object.done();
        byte[] bytes;
        try {
            bytes = Base64.getDecoder().decode(data);
        } catch (IllegalArgumentException e) {
            throw object.error("data", "is not Base64; measure the clip again");
        }
        if (bytes.length != 6 * pixels) {
            throw object.error("data", "holds " + bytes.length + " bytes; " + pixels + " pixels take " + 6 * pixels + "; measure the clip again");
        }
        short[] triples = new short[3 * pixels];
        ByteBuffer.wrap(bytes).order(ByteOrder.LITTLE_ENDIAN).asShortBuffer().get(triples);
        return new PixelSample(standard, triples);
    }

    // ---- correction

    public static String toJson(Correction c) {
        ObjectNode root = head("correction");
        CorrectionOrigin o = c.origin();
        root.put("clip", o.clip()).put("profile", o.profile()).put("preset", o.preset()).put("subject", o.subject()).put("stops", o.stops());
        root.put("luma", c.standard().label());
        ObjectNode curves = root.putObject("curves");
        putCurve(curves, "chromaIn", c.chromaIn());
        putCurve(curves, "tone", c.tone());
        putCurve(curves, "chromaOut", c.chromaOut());
        if (o.before() != null) {
            putLevels(root, "before", o.before());
        }
        if (o.after() != null) {
            putLevels(root, "after", o.after());
        }
        putTexts(root, "notes", o.notes());
        return pretty(root);
    }

    public static Correction correctionFromJson(String text, String where) {
        StrictObject root = root(text, where, "correction");
        String clip = root.text("clip", 4096, "");
        String profile = root.text("profile", 80, "");
        String preset = root.text("preset", 80, "");
        String subject = subject(root.text("subject", 20, "auto"), where).word();
        double stops = root.number("stops", -20, 20, 0);
        LumaStandard standard = standard(root, "luma");
        StrictObject curves = root.object("curves");
        Curve chromaIn = curve(curves, "chromaIn", where);
        Curve tone = curve(curves, "tone", where);
        Curve chromaOut = curve(curves, "chromaOut", where);
        curves.done();
        LevelSummary before = root.has("before") ? levels(root, "before") : null;
        LevelSummary after = root.has("after") ? levels(root, "after") : null;
        List<String> notes = root.has("notes") ? root.texts("notes", 64, 1000) : List.of();
        root.done();
        return built(where, () -> new Correction(chromaIn, tone, chromaOut, standard,
            new CorrectionOrigin(clip, profile, preset, subject, stops, before, after, notes)));
    }

    /** Curves are stored in percent against percent (tone) or factor against percent (chroma), slopes per percent. */
    private static void putCurve(ObjectNode parent, String field, Curve curve) {
        boolean isTone = field.equals("tone");
        ObjectNode node = parent.putObject(field);
        node.put("from", rounded(100 * curve.from())).put("to", rounded(100 * curve.to()));
        double[] values = curve.values();
        double[] slopes = curve.slopes();
        for (int i = 0; i < values.length; i++) {
            values[i] = isTone ? 100 * values[i] : values[i];
            slopes[i] = isTone ? slopes[i] : slopes[i] / 100;
        }
        putNumbers(node, "values", values);
        putNumbers(node, "slopes", slopes);
    }

    private static Curve curve(StrictObject parent, String field, String where) {
        boolean isTone = field.equals("tone");
        StrictObject node = parent.object(field);
        double from = node.number("from", -1000, 1000) / 100;
        double to = node.number("to", -1000, 1000) / 100;
        if (from >= to) {
            throw node.error("to", StrictObject.plain(100 * to) + " must be above from, which is " + StrictObject.plain(100 * from));
        }
        double[] values = node.numbers("values", 2, Curve.MAX_SEGMENTS + 1, -1000, 1000);
        double[] slopes = node.numbers("slopes", 2, Curve.MAX_SEGMENTS + 1, -1000, 1000);
        node.done();
        for (int i = 0; i < values.length; i++) {
            values[i] = isTone ? values[i] / 100 : values[i];
        }
        for (int i = 0; i < slopes.length; i++) {
            slopes[i] = isTone ? slopes[i] : slopes[i] * 100;
        }
        return built(where + ": curves." + field, () -> new Curve(from, to, values, slopes));
    }

    // ---- pieces

    private static String name(StrictObject root) {
        String name = root.text("name", 40);
        if (!name.matches("[A-Za-z][A-Za-z0-9-]*")) {
            throw root.error("name", "'" + name + "' must be letters, digits and hyphens, a letter first");
        }
        return name;
    }

    private static Subject subject(String word, String where) {
        try {
            return Subject.ofWord(word);
        } catch (InputException e) {
            throw new InputException(where + ": " + e.getMessage(), e);
        }
    }

    private static LumaStandard standard(StrictObject object, String field) {
        String label = object.text(field, 20);
        for (LumaStandard standard : LumaStandard.values()) {
            if (standard.label().equals(label)) {
                return standard;
            }
        }
        throw object.error(field, "'" + label + "' is not known; give BT.601, BT.709 or BT.2020");
    }

    private static LevelSummary levels(StrictObject parent, String field) {
        StrictObject o = parent.object(field);
        double bound = 6.6e6;
        LevelSummary levels = new LevelSummary(o.number("min", -bound, bound), o.number("p0_5", -bound, bound), o.number("p1", -bound, bound),
            o.number("p10", -bound, bound), o.number("p50", -bound, bound), o.number("p90", -bound, bound), o.number("p99", -bound, bound),
            o.number("p99_5", -bound, bound), o.number("max", -bound, bound), o.number("mean", -bound, bound));
        o.done();
        return levels;
    }

    private static void putLevels(ObjectNode parent, String field, LevelSummary s) {
        parent.putObject(field).put("min", s.min()).put("p0_5", s.p0_5()).put("p1", s.p1()).put("p10", s.p10()).put("p50", s.p50())
            .put("p90", s.p90()).put("p99", s.p99()).put("p99_5", s.p99_5()).put("max", s.max()).put("mean", s.mean());
    }

    private static ObjectNode head(String kind) {
        return JsonNodeFactory.instance.objectNode().put("kind", kind).put("schema", SCHEMA);
    }

    private static void putNumberOrNull(ObjectNode node, String field, double value) {
        if (Double.isNaN(value)) {
            node.putNull(field);
        } else {
            node.put(field, value);
        }
    }

    private static void putNumbers(ObjectNode node, String field, double[] values) {
        ArrayNode array = node.putArray(field);
        for (double value : values) {
            array.add(rounded(value));
        }
    }

    /** Nine decimals: far below a float's resolution, and short to read. */
    private static double rounded(double value) {
        return Math.abs(value) < 1e6 ? Math.round(value * 1e9) / 1e9 + 0.0 : value;
    }

    private static void putTexts(ObjectNode node, String field, List<String> texts) {
        ArrayNode array = node.putArray(field);
        texts.forEach(array::add);
    }

    private static double[] fractions(double[] percents) {
        return java.util.Arrays.stream(percents).map(p -> p / 100).toArray();
    }

    private static double[] percents(double[] fractions) {
        return java.util.Arrays.stream(fractions).map(f -> f * 100).toArray();
    }

    private static String pretty(JsonNode node) {
        try {
            return Writing.PRETTY.writeValueAsString(node) + "\n";
        } catch (JsonProcessingException e) {
            throw new UncheckedIOException(e);
        }
    }
}
