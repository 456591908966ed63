// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;

/**
 * Gathers the measurement of a clip from sampled frames, given in time order. The same frames give the same measurement to the
 * byte. Not safe for use by several threads at once; frames are read during the call only.
 */
public final class ClipMeter {
    /** Pixel triples kept by default. */
    public static final int DEFAULT_SAMPLE_SIZE = 65536;
    /** Frames sampled from a clip by default. */
    public static final int DEFAULT_FRAMES = 24;
    /** Histograms of successive frames that share less than this part are taken for a change of shot (own choice, no source). */
    private static final double CUT_OVERLAP = 0.45;
    /** A frame this much darker than the clip, at its beginning or end, belongs to a fade. */
    private static final double FADE_RATIO = 0.6;
    /** A share of pixels within one 10-bit code of the top that can only be a pile-up. */
    private static final double PILE_UP = 0.0005;
    private static final double LARGEST_PILE = 0.4;
    private static final double LOWEST_CEILING = 0.6;

    private final LumaStandard standard;
    private final int sampleSize;
    private final List<FrameTally> tallies = new ArrayList<>();
    private final LoopsTakeover loops;

    public ClipMeter(LumaStandard standard) {
        this(standard, DEFAULT_SAMPLE_SIZE);
    }

    /** @param sampleSize pixel triples to keep, 256 to 262,144 */
    public ClipMeter(LumaStandard standard, int sampleSize) {
        this(standard, sampleSize, LoopsTakeover.chosen());
    }

    /** With loops of one's own choice, {@code auto}, {@code scalar} or a service's name, for comparing them in one process. */
    public static ClipMeter withLoops(LumaStandard standard, int sampleSize, String loops) {
        return new ClipMeter(standard, sampleSize, LoopsTakeover.choose(loops));
    }

    ClipMeter(LumaStandard standard, int sampleSize, LoopsTakeover loops) {
        if (sampleSize < 256 || sampleSize > 262_144) {
            throw new IllegalArgumentException("a sample of " + sampleSize + " pixels is outside 256 to 262144");
        }
        this.standard = standard;
        this.sampleSize = sampleSize;
        this.loops = loops;
    }

    /** @param seconds time of the frame in the clip */
    public void add(PlanarFrame frame, double seconds) {
        add(PixelRows.of(frame, loops.loopsFor(frame)), seconds);
    }

    /** RGB or RGBA; pixels of less than half opacity do not count unless the frame is opaque. */
    public void add(PackedFrame frame, double seconds) {
        add(PixelRows.of(frame, standard, loops.loopsFor(frame)), seconds);
    }

    private void add(PixelRows rows, double seconds) {
        int ordinal = tallies.size();
        // Twice a frame's share if it were the last: how many will follow is not known, and some may not count.
        int kept = Math.min(sampleSize, 2 * sampleSize / (ordinal + 1));
        tallies.add(new FrameTally(rows, FrameTally.Scratch.of(rows.width), seconds, Math.max(1, kept), ordinal));
    }

    public int frames() {
        return tallies.size();
    }

    /**
     * @param clip name for messages and files
     * @throws InputException when there is nothing to measure
     */
    public Measurement finish(String clip) {
        List<String> notes = new ArrayList<>();
        List<FrameTally> counted = counted(clip, tallies, notes);
        noteCuts(counted, notes);
        LevelHistogram luma = new LevelHistogram();
        LevelHistogram red = new LevelHistogram();
        LevelHistogram green = new LevelHistogram();
        LevelHistogram blue = new LevelHistogram();
        LevelHistogram skinLuma = new LevelHistogram();
        NoiseMeter noise = new NoiseMeter();
        long[] zoneCount = new long[FrameTally.CHROMA_ZONES];
        long[] zoneChroma = new long[FrameTally.CHROMA_ZONES];
        long[] bandSum = new long[FrameTally.ROW_BANDS];
        long[] bandCount = new long[FrameTally.ROW_BANDS];
        long sites = 0;
        float min = Float.POSITIVE_INFINITY;
        float max = Float.NEGATIVE_INFINITY;
        double left = 1;
        double top = 1;
        double right = 0;
        double bottom = 0;
        for (FrameTally t : counted) {
            luma.add(t.luma);
            red.add(t.red);
            green.add(t.green);
            blue.add(t.blue);
            skinLuma.add(t.skin);
            noise.add(t.noise);
            for (int z = 0; z < zoneCount.length; z++) {
                zoneCount[z] += t.zoneCount[z];
                zoneChroma[z] += t.zoneChroma[z];
            }
            for (int z = 0; z < bandSum.length; z++) {
                bandSum[z] += t.bandSum[z];
                bandCount[z] += t.bandCount[z];
            }
            sites += t.sites;
            min = Math.min(min, t.min);
            max = Math.max(max, t.max);
            left = Math.min(left, t.left / (double) t.width);
            top = Math.min(top, t.top / (double) t.height);
            right = Math.max(right, t.right / (double) t.width);
            bottom = Math.max(bottom, t.bottom / (double) t.height);
        }
        Measurement.PictureArea area = new Measurement.PictureArea(left, top, right, bottom);
        if (!area.isWholeFrame()) {
            notes.add(String.format(java.util.Locale.ROOT, "Bars round the picture do not count: it fills %.0f %% of the width and %.0f %% of the height.",
                100 * (right - left), 100 * (bottom - top)));
        }
        LevelSummary levels = summary(luma, min, max);
        double ceiling = ceiling(luma);
        long skinCount = skinLuma.total();
        Skin skin = new Skin(sites == 0 ? 0 : skinCount / (double) sites, percent(skinLuma.percentile(500)),
            percent(skinLuma.percentile(250)), percent(skinLuma.percentile(750)));
        return new Measurement(clip, counted.size(), levels, summary(red), summary(green), summary(blue), luma.shareFrom(ceiling),
            luma.shareTo(0), percent(ceiling), skin, skin.isSubject() ? skin.median() : levels.p50(), percent(noise.sigma()),
            noise.tiles(), noise.details(), zones(zoneCount, zoneChroma, sites), area, horizon(bandSum, bandCount), sample(counted), notes);
    }

    /** The frames that count. */
    static List<FrameTally> counted(String clip, List<FrameTally> tallies, List<String> notes) {
        List<FrameTally> counted = withoutBlackAndFades(tallies, notes);
        if (counted.isEmpty() || counted.stream().allMatch(t -> t.luma.total() == 0)) {
            throw new InputException(clip + ": there is no picture to measure in " + tallies.size()
                + " frames; give a clip with at least one visible frame");
        }
        return counted;
    }

    private static List<FrameTally> withoutBlackAndFades(List<FrameTally> tallies, List<String> notes) {
        List<FrameTally> visible = new ArrayList<>();
        for (FrameTally t : tallies) {
            if (!t.isBlack()) {
                visible.add(t);
            }
        }
        if (visible.isEmpty()) {
            if (!tallies.isEmpty()) {
                notes.add("Every frame is black or nearly so; levels are those of the black frames.");
            }
            return tallies;
        }
        if (visible.size() < tallies.size()) {
            notes.add((tallies.size() - visible.size()) + " of " + tallies.size() + " frames are black and do not count.");
        }
        double[] bright = visible.stream().mapToDouble(t -> t.luma.percentile(900)).sorted().toArray();
        double usual = bright[bright.length / 2];
        int from = 0;
        int to = visible.size();
        // A fade is a run at either end that only gets darker towards the end of the clip, down to well under its usual brightness.
        while (from + 1 < to && to - from > visible.size() / 2 && isFaded(visible.get(from), visible.get(from + 1), usual)) {
            from++;
        }
        while (to - 1 > from && to - from > visible.size() / 2 && isFaded(visible.get(to - 1), visible.get(to - 2), usual)) {
            to--;
        }
        if (to - from < visible.size()) {
            notes.add((visible.size() - (to - from)) + " of " + tallies.size() + " frames belong to a fade and do not count.");
        }
        return visible.subList(from, to);
    }

    private static boolean isFaded(FrameTally outer, FrameTally inner, double usual) {
        double level = outer.luma.percentile(900);
        return level < FADE_RATIO * usual && level < inner.luma.percentile(900);
    }

    private static void noteCuts(List<FrameTally> counted, List<String> notes) {
        int cuts = 0;
        for (int i = 1; i < counted.size(); i++) {
            LevelHistogram a = counted.get(i - 1).luma;
            LevelHistogram b = counted.get(i).luma;
            double totalA = a.total();
            double totalB = b.total();
            double shared = 0;
            // Coarse steps, so that noise does not count as a difference.
            for (int coarse = 0; coarse < LevelHistogram.SIZE / 50; coarse++) {
                long sumA = 0;
                long sumB = 0;
                for (int step = 50 * coarse; step < 50 * coarse + 50; step++) {
                    sumA += a.countAt(step);
                    sumB += b.countAt(step);
                }
                shared += Math.min(sumA / totalA, sumB / totalB);
            }
            if (shared < CUT_OVERLAP) {
                cuts++;
            }
        }
        if (cuts > 0) {
            notes.add("The picture changes abruptly " + cuts + (cuts == 1 ? " time" : " times")
                + "; several shots in one clip get one correction. Cut them apart where they differ in exposure.");
        }
    }

    /** Steps of the histogram are coarser than the extremes, so percentiles are held between them. */
    static LevelSummary summary(LevelHistogram h, double min, double max) {
        double[] p = new double[7];
        int[] tenths = {5, 10, 100, 500, 900, 990, 995};
        for (int i = 0; i < p.length; i++) {
            p[i] = percent(Math.min(Math.max(h.percentile(tenths[i]), min), max));
        }
        return new LevelSummary(percent(min), p[0], p[1], p[2], p[3], p[4], p[5], p[6], percent(max), percent(h.mean()));
    }

    private static LevelSummary summary(LevelHistogram h) {
        return summary(h, h.percentile(0), h.percentile(1000));
    }

    private static double percent(double fraction) {
        return Double.isNaN(fraction) ? Double.NaN : Math.round(fraction * 1e5) / 1e3 + 0.0;
    }

    /** The level at which highlights pile up, or the lowest of the top codes of any depth where they do not. */
    private static double ceiling(LevelHistogram luma) {
        double top = luma.percentile(1000);
        double nearTop = luma.shareFrom(top - 0.004);
        double below = luma.shareFrom(top - 0.016) - nearTop;
        // A picture that was corrected after it was clipped piles up lower; one flat tone is no pile-up.
        if (top > LOWEST_CEILING && nearTop > PILE_UP && nearTop < LARGEST_PILE && nearTop > 2 * below) {
            return top - 0.004;
        }
        return CodeDepth.BITS8.levelOfCode(CodeDepth.BITS8.highestVideoCode());
    }

    private static List<Measurement.ChromaZone> zones(long[] count, long[] chroma, long sites) {
        List<Measurement.ChromaZone> zones = new ArrayList<>();
        for (int z = 0; z < count.length; z++) {
            int fromStep = (z * LevelHistogram.SIZE + count.length - 1) / count.length;
            int toStep = ((z + 1) * LevelHistogram.SIZE + count.length - 1) / count.length;
            zones.add(new Measurement.ChromaZone(percent(LevelHistogram.levelOf(fromStep)), percent(LevelHistogram.levelOf(toStep)),
                sites == 0 ? 0 : Math.round(1e6 * count[z] / sites) / 1e6,
                count[z] == 0 ? 0 : Math.round(1e5 * (chroma[z] / (double) MeasuredRow.CHROMA_UNIT / count[z])) / 1e5));
        }
        return zones;
    }

    private static Measurement.Horizon horizon(long[] sum, long[] count) {
        int n = sum.length;
        double total = 0;
        double rows = 0;
        double[] mean = new double[n];
        for (int i = 0; i < n; i++) {
            mean[i] = count[i] == 0 ? Double.NaN : sum[i] / (double) count[i];
            if (count[i] > 0) {
                total += mean[i];
                rows++;
            }
        }
        double average = total / rows;
        double variance = 0;
        for (double m : mean) {
            variance += m == m ? (m - average) * (m - average) : 0;
        }
        double best = 0;
        double position = 0.5;
        double sumAbove = 0;
        double countAbove = 0;
        for (int i = 0; i < n - 1; i++) {
            if (mean[i] == mean[i]) {
                sumAbove += mean[i];
                countAbove++;
            }
            double countBelow = rows - countAbove;
            if (countAbove == 0 || countBelow == 0) {
                continue;
            }
            double difference = sumAbove / countAbove - (total - sumAbove) / countBelow;
            double between = difference > 0 ? countAbove * countBelow / rows * difference * difference : 0;
            if (between > best) {
                best = between;
                position = (i + 1) / (double) n;
            }
        }
        return new Measurement.Horizon(Math.round(position * 1e4) / 1e4, variance < 1e-9 ? 0 : Math.round(1e4 * best / variance) / 1e4);
    }

    /** As many of each frame as of the others, where it kept as many, evenly thinned. */
    private PixelSample sample(List<FrameTally> counted) {
        int[] kept = counted.stream().mapToInt(t -> t.sampled / 3).toArray();
        int[] shares = shares(kept, sampleSize);
        short[] triples = new short[3 * Arrays.stream(shares).sum()];
        int filled = 0;
        for (int f = 0; f < kept.length; f++) {
            for (long i = 0; i < kept[f]; i++) {
                // Take a pixel whenever the count due so far grows by one.
                if ((i + 1) * shares[f] / kept[f] > i * shares[f] / kept[f]) {
                    System.arraycopy(counted.get(f).sample, (int) (3 * i), triples, filled, 3);
                    filled += 3;
                }
            }
        }
        return new PixelSample(standard, triples);
    }

    /** {@code most} of what is there, or all: alike, but for those that have less than that. */
    private static int[] shares(int[] kept, int most) {
        int[] rising = kept.clone();
        Arrays.sort(rising);
        int left = most;
        int share = Integer.MAX_VALUE;
        for (int i = 0; i < rising.length && share == Integer.MAX_VALUE; i++) {
            int each = left / (rising.length - i);
            if (rising[i] > each) {
                share = each;
            } else {
                left -= rising[i];
            }
        }
        int[] shares = new int[kept.length];
        left = most;
        for (int i = 0; i < kept.length; i++) {
            shares[i] = Math.min(kept[i], share);
            left -= shares[i];
        }
        // What does not go up among all.
        for (int i = 0; i < kept.length && left > 0; i++) {
            if (shares[i] < kept[i]) {
                shares[i]++;
                left--;
            }
        }
        return shares;
    }
}
