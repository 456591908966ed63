// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

/**
 * What the user wants. Levels in percent, exposure in stops.
 *
 * @param name           identifier: letters, digits and hyphens
 * @param subject        what is aimed at
 * @param subjectLevel   level of the middle of the picture, 5..80: where its median would go by itself
 * @param brightLevel    its 97th percentile where levels are normal, 10..105: the mean of the brighter half, in which what lies above this counts as
 *                       this, goes where it would be then, at most 0.9 stops from where the median asks for
 * @param brightTo       half of the stops by which the 97th percentile would pass this are taken back; above {@code brightLevel}, up to 109
 * @param skinFrom       skin darker than this is lifted to it, 10..80
 * @param skinTo         skin brighter than this is lowered to it, above {@code skinFrom}, up to 90
 * @param shadowLevel    percentile 0.5 is lowered to this where it lies higher, 0..30
 * @param highlightLevel everything above is folded below this, 50..109
 * @param steepest       largest slope of one step by which shadows are lowered, 1..3, of which dark colours may take up to three; a picture whose first would need more is left as it is
 * @param largestLift    stops, 0..6
 * @param largestPull    stops, 0..6
 * @param noiseLimit     largest standard deviation of luma noise after the lift, in percent of level, 0.1..10
 * @param chromaBalance  factor on chroma after the correction, 0..2
 * @param exposureTrim   stops added to what was solved, -3..3
 * @param chromaTrim     factors on the chroma of dark and of bright parts, about {@code subjectLevel}
 */
public record Preset(String name, String label, String note, Subject subject, double subjectLevel, double brightLevel, double brightTo,
                     double skinFrom, double skinTo, double shadowLevel, double highlightLevel, double steepest, double largestLift,
                     double largestPull, double noiseLimit, double chromaBalance, double exposureTrim, ChromaTrim chromaTrim) {

    public Preset {
        require("subjectLevel", subjectLevel, 5, 80, "percent");
        require("brightLevel", brightLevel, 10, 105, "percent");
        require("brightTo", brightTo, 10, 109, "percent");
        requireAbove("brightTo", brightTo, "brightLevel", brightLevel);
        require("skinFrom", skinFrom, 10, 80, "percent");
        require("skinTo", skinTo, 10, 90, "percent");
        requireAbove("skinTo", skinTo, "skinFrom", skinFrom);
        require("shadowLevel", shadowLevel, 0, 30, "percent");
        require("highlightLevel", highlightLevel, 50, 109, "percent");
        require("steepest", steepest, 1, 3, "factor");
        require("largestLift", largestLift, 0, 6, "stops");
        require("largestPull", largestPull, 0, 6, "stops");
        require("noiseLimit", noiseLimit, 0.1, 10, "percent");
        require("chromaBalance", chromaBalance, 0, 2, "factor");
        require("exposureTrim", exposureTrim, -3, 3, "stops");
    }

    /** A preset that treats dark and bright chroma alike. */
    public Preset(String name, String label, String note, Subject subject, double subjectLevel, double brightLevel, double brightTo,
                  double skinFrom, double skinTo, double shadowLevel, double highlightLevel, double steepest, double largestLift,
                  double largestPull, double noiseLimit, double chromaBalance, double exposureTrim) {
        this(name, label, note, subject, subjectLevel, brightLevel, brightTo, skinFrom, skinTo, shadowLevel, highlightLevel, steepest,
            largestLift, largestPull, noiseLimit, chromaBalance, exposureTrim, ChromaTrim.NONE);
    }

    private static void requireAbove(String field, double value, String other, double bound) {
        if (!(value > bound)) {
            throw new IllegalArgumentException(field + " " + plain(value) + " is not above " + other + " " + plain(bound) + "; give a larger one");
        }
    }

    static void require(String field, double value, double from, double to, String unit) {
        if (!(value >= from && value <= to)) {
            String side = value > to ? " is above " + plain(to) : value < from ? " is below " + plain(from) : " is not a number";
            throw new IllegalArgumentException(field + " " + plain(value) + side + "; give a " + unit + " value from " + plain(from) + " to " + plain(to));
        }
    }

    private static String plain(double value) {
        if (!Double.isFinite(value)) {
            return Double.toString(value);
        }
        return value == Math.rint(value) && Math.abs(value) < 1e6 ? Long.toString((long) value) : Double.toString(Math.round(value * 1e4) / 1e4);
    }

    public Preset withSubject(Subject other) {
        return new Preset(name, label, note, other, subjectLevel, brightLevel, brightTo, skinFrom, skinTo, shadowLevel, highlightLevel,
            steepest, largestLift, largestPull, noiseLimit, chromaBalance, exposureTrim, chromaTrim);
    }

    public Preset withChromaBalance(double factor) {
        return new Preset(name, label, note, subject, subjectLevel, brightLevel, brightTo, skinFrom, skinTo, shadowLevel, highlightLevel,
            steepest, largestLift, largestPull, noiseLimit, factor, exposureTrim, chromaTrim);
    }

    public Preset withExposureTrim(double stops) {
        return new Preset(name, label, note, subject, subjectLevel, brightLevel, brightTo, skinFrom, skinTo, shadowLevel, highlightLevel,
            steepest, largestLift, largestPull, noiseLimit, chromaBalance, stops, chromaTrim);
    }

    public Preset withShadowLevel(double percent) {
        return new Preset(name, label, note, subject, subjectLevel, brightLevel, brightTo, skinFrom, skinTo, percent, highlightLevel,
            steepest, largestLift, largestPull, noiseLimit, chromaBalance, exposureTrim, chromaTrim);
    }

    public Preset withHighlightLevel(double percent) {
        return new Preset(name, label, note, subject, subjectLevel, brightLevel, brightTo, skinFrom, skinTo, shadowLevel, percent,
            steepest, largestLift, largestPull, noiseLimit, chromaBalance, exposureTrim, chromaTrim);
    }

    public Preset withLargestLift(double stops) {
        return new Preset(name, label, note, subject, subjectLevel, brightLevel, brightTo, skinFrom, skinTo, shadowLevel, highlightLevel,
            steepest, stops, largestPull, noiseLimit, chromaBalance, exposureTrim, chromaTrim);
    }

    public Preset withChromaTrim(ChromaTrim trim) {
        return new Preset(name, label, note, subject, subjectLevel, brightLevel, brightTo, skinFrom, skinTo, shadowLevel, highlightLevel,
            steepest, largestLift, largestPull, noiseLimit, chromaBalance, exposureTrim, trim);
    }

    public Preset withName(String other, String otherLabel, String otherNote) {
        return new Preset(other, otherLabel, otherNote, subject, subjectLevel, brightLevel, brightTo, skinFrom, skinTo, shadowLevel, highlightLevel,
            steepest, largestLift, largestPull, noiseLimit, chromaBalance, exposureTrim, chromaTrim);
    }

    /** The subject aimed at so many percent higher: the median's level and the range of skin, each held within its bounds. */
    public Preset withSubjectRaised(double percent) {
        double from = Math.min(Math.max(skinFrom + percent, 10), 80);
        double to = Math.min(Math.max(skinTo + percent, from + 1), 90);
        return new Preset(name, label, note, subject, Math.min(Math.max(subjectLevel + percent, 5), 80), brightLevel, brightTo, from, to,
            shadowLevel, highlightLevel, steepest, largestLift, largestPull, noiseLimit, chromaBalance, exposureTrim, chromaTrim);
    }

    /** True when the preset leaves exposure alone and only folds highlights. */
    public boolean keepsExposure() {
        return largestLift == 0 && largestPull == 0 && exposureTrim == 0;
    }
}
