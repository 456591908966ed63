// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.TreeSet;
import org.evenstop.engine.curve.MonotoneCubic;

/**
 * How the light of a clip runs, shot by shot. Each shot's light counts from its own median, which is where the clip's one
 * correction belongs. Immutable.
 */
public final class LightTrack {
    /** A shot whose light stays within this many stops, for 96 % of its frames, is steady and left alone (own choice, no source). */
    public static final double STEADY = 0.08;
    /** Between keys the track is missed by at most this many stops: at most 0.1 % of level on any shipped profile. */
    private static final double KEY_MISS = 0.004;
    /** Fewer frames than this between two cuts are no shot that could be judged. */
    private static final int LEAST_FRAMES = 5;
    /** A shot is not followed where more than this share of its frames agree with the one before by less (own choices, no source). */
    private static final double RESEMBLES = 0.6;
    private static final double MOST_UNLIKE = 0.1;

    private final List<LightShot> shots;
    private final float[] stops;
    private final List<int[]> sure;
    private final int notFollowed;

    private LightTrack(List<LightShot> shots, float[] stops, List<int[]> sure, int notFollowed) {
        this.shots = List.copyOf(shots);
        this.stops = stops;
        this.sure = sure;
        this.notFollowed = notFollowed;
    }

    /**
     * @param seconds rising
     * @param shot    number of each frame's shot; -1 for blank frames
     * @param agreed  share of the places by which each agrees with the frame before, 0..1
     * @param level   light of each frame within its shot, in stops from anywhere
     */
    static LightTrack of(double[] seconds, int[] shot, double[] level, double[] agreed, Fades fades) {
        int n = seconds.length;
        double[] track = new double[n];
        Arrays.fill(track, Double.NaN);
        List<LightShot> shots = new ArrayList<>();
        int notFollowed = 0;
        int[][] members = members(shot, fades);
        boolean[] isSureShot = new boolean[members.length];
        for (int s = 0; s < members.length; s++) {
            int[] frames = members[s];
            if (frames.length < Math.min(LEAST_FRAMES, n)) {
                continue;
            }
            double[] times = Arrays.stream(frames).mapToDouble(f -> seconds[f]).toArray();
            double[] light = TrackSmoother.smoothed(times, Arrays.stream(frames).mapToDouble(f -> level[f]).toArray());
            double[] sorted = light.clone();
            Arrays.sort(sorted);
            double middle = sorted[sorted.length / 2];
            for (int i = 0; i < light.length; i++) {
                light[i] -= middle;
            }
            double lowest = sorted[0] - middle;
            double highest = sorted[sorted.length - 1] - middle;
            // A few frames do not make a drift: what is left of flicker at a shot's ends is more than in its middle.
            int few = light.length / 50;
            boolean isSteady = sorted[sorted.length - 1 - few] - sorted[few] < STEADY;
            // Too many frames that hardly resemble the one before: what is found may be the movement's, and is not followed.
            boolean isSure = Arrays.stream(frames).filter(f -> agreed[f] < RESEMBLES).count() <= MOST_UNLIKE * frames.length;
            isSureShot[s] = isSure;
            List<LightKey> keys = isSteady || !isSure ? List.of() : keys(times, light);
            MonotoneCubic curve = keys.isEmpty() ? null : curve(keys);
            for (int i = 0; i < frames.length; i++) {
                track[frames[i]] = curve == null ? 0 : curve.valueAt(times[i]);
            }
            shots.add(new LightShot(frames[0], frames[frames.length - 1], times[0], times[times.length - 1], rounded(lowest), rounded(highest),
                isSure, keys));
        }
        for (int i = 0; i < n; i++) {
            notFollowed += track[i] != track[i] ? 1 : 0;
        }
        fill(track, fades);
        float[] stops = new float[n];
        for (int i = 0; i < n; i++) {
            stops[i] = (float) track[i];
        }
        shots.sort(java.util.Comparator.comparingInt(LightShot::firstFrame));
        return new LightTrack(shots, stops, sure(shot, isSureShot), notFollowed);
    }

    private static List<int[]> sure(int[] shot, boolean[] isSureShot) {
        List<int[]> found = new ArrayList<>();
        int[] frames = new int[shot.length];
        int size = 0;
        for (int i = 0; i <= shot.length; i++) {
            boolean isOther = i == shot.length || shot[i] >= 0 && size > 0 && shot[i] != shot[frames[0]];
            if (isOther && size > 0) {
                found.add(Arrays.copyOf(frames, size));
                size = 0;
            }
            if (i < shot.length && shot[i] >= 0 && isSureShot[shot[i]]) {
                frames[size++] = i;
            }
        }
        return found;
    }

    private static int[][] members(int[] shot, Fades fades) {
        int count = Arrays.stream(shot).max().orElse(-1) + 1;
        int[] sizes = new int[count];
        for (int i = 0; i < shot.length; i++) {
            if (shot[i] >= 0 && fades.kind(i) == Fades.Kind.PICTURE) {
                sizes[shot[i]]++;
            }
        }
        int[][] members = new int[count][];
        for (int s = 0; s < count; s++) {
            members[s] = new int[sizes[s]];
        }
        int[] filled = new int[count];
        for (int i = 0; i < shot.length; i++) {
            if (shot[i] >= 0 && fades.kind(i) == Fades.Kind.PICTURE) {
                members[shot[i]][filled[shot[i]]++] = i;
            }
        }
        return members;
    }

    /** The fewest of the track's own points, found by adding the worst missed of each gap, between which a monotone cubic runs near enough. */
    private static List<LightKey> keys(double[] seconds, double[] light) {
        TreeSet<Integer> chosen = new TreeSet<>(List.of(0, seconds.length - 1));
        while (true) {
            List<LightKey> keys = new ArrayList<>();
            for (int i : chosen) {
                keys.add(new LightKey(Math.round(seconds[i] * 1e6) / 1e6, rounded(light[i])));
            }
            MonotoneCubic curve = curve(keys);
            List<Integer> worst = new ArrayList<>();
            Integer from = chosen.first();
            for (Integer to = chosen.higher(from); to != null; from = to, to = chosen.higher(from)) {
                int at = -1;
                double most = KEY_MISS;
                for (int i = from + 1; i < to; i++) {
                    double miss = Math.abs(curve.valueAt(seconds[i]) - light[i]);
                    if (miss > most) {
                        most = miss;
                        at = i;
                    }
                }
                if (at >= 0) {
                    worst.add(at);
                }
            }
            if (worst.isEmpty()) {
                return keys;
            }
            chosen.addAll(worst);
        }
    }

    private static MonotoneCubic curve(List<LightKey> keys) {
        return new MonotoneCubic(keys.stream().mapToDouble(LightKey::seconds).toArray(), keys.stream().mapToDouble(LightKey::stops).toArray());
    }

    private static double rounded(double stops) {
        return Math.round(stops * 1e5) / 1e5 + 0.0;
    }

    /** Frames of fades keep the light of the picture they belong to; what else could not be judged runs evenly from one shot to the next. */
    private static void fill(double[] track, Fades fades) {
        int n = track.length;
        double held = Double.NaN;
        for (int i = 0; i < n; i++) {
            if (track[i] == track[i]) {
                held = track[i];
            } else if (fades.kind(i) == Fades.Kind.OUT && held == held) {
                track[i] = held;
            } else if (fades.kind(i) == Fades.Kind.BLANK) {
                held = Double.NaN;
            }
        }
        held = Double.NaN;
        for (int i = n - 1; i >= 0; i--) {
            if (track[i] == track[i]) {
                held = track[i];
            } else if (fades.kind(i) == Fades.Kind.IN && held == held) {
                track[i] = held;
            } else if (fades.kind(i) == Fades.Kind.BLANK) {
                held = Double.NaN;
            }
        }
        int last = -1;
        for (int i = 0; i <= n; i++) {
            if (i < n && track[i] != track[i]) {
                continue;
            }
            double before = last >= 0 ? track[last] : i < n ? track[i] : 0;
            double after = i < n ? track[i] : before;
            for (int j = last + 1; j < i; j++) {
                track[j] = before + (after - before) * (j - last) / (i - last);
            }
            last = i;
        }
    }

    /** The shots, in order; none when no frame could be judged. */
    public List<LightShot> shots() {
        return shots;
    }

    /** Cuts between shots. */
    public int cuts() {
        return Math.max(0, shots.size() - 1);
    }

    public int frames() {
        return stops.length;
    }

    /** Frames that are blank, fade, or lie between cuts too close to judge: they go with the shots beside them. */
    public int framesNotJudged() {
        return notFollowed;
    }

    /** True when no shot is followed, each being steady or too unsure: then every frame's light is 0. */
    public boolean isSteady() {
        return shots.stream().noneMatch(LightShot::isFollowed);
    }

    /** Shots in which so much moves that their light can not be told; they are left alone. */
    public long unsureShots() {
        return shots.stream().filter(shot -> !shot.isSure()).count();
    }

    /** The widest range of light within a shot whose light can be told, in stops. */
    public double range() {
        return shots.stream().filter(LightShot::isSure).mapToDouble(LightShot::range).max().orElse(0);
    }

    /**
     * The frames of each shot, its fades among them but no blank ones; without shots too short to judge or so full of movement that their light
     * can not be told. Not to be written to.
     */
    List<int[]> sureShots() {
        return sure;
    }

    /** Light of a frame over the light the clip's correction is meant for, in stops; the last frame's beyond the end. */
    public double stopsAt(long frame) {
        return stops[(int) Math.min(Math.max(frame, 0), stops.length - 1)];
    }
}
