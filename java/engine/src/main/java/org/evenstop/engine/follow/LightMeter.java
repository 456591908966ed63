// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.profile.Profile;

/**
 * Finds how the light of a clip drifts, from all of its frames in time order: the iris of a camera, its automatic exposure, a cloud.
 *
 * <p>After Z. Farbman and D. Lischinski, "Tonal Stabilization of Video" (ACM TOG 30(4), 2011): frames are tied to anchor frames, and
 * changes are read off the places that show the same thing. Here a change is one number, stops of scene light through the
 * profile, and each frame is compared both with the one before and with an anchor, so that small errors do not add up over
 * a long clip. All comparisons of a shot are then brought into agreement by least squares, and the track is smoothed.
 *
 * <p>Not safe for use by several threads; frames are read during the call only. A frame kept costs 55 KiB; at most
 * {@value #MOST_ANCHORS} are kept at a time, whatever the length of the clip.
 */
public final class LightMeter {
    static final int MOST_ANCHORS = 12;
    /** Frames of which less can be told are blank. */
    private static final double LEAST_TOLD = 0.02;
    /** Agreement under which two neighbours are different shots, and what an anchor and a return to a shot need (own choices, no source). */
    private static final double SAME_SHOT = 0.25;
    private static final double LEAST_COMPARED = 0.2;
    private static final double GOOD_ANCHOR = 0.5;
    private static final double POOR_ANCHOR = 0.25;
    private static final double LEAST_ANCHORED = 0.35;
    /** Other anchors are tried each so many frames while the current one does not fit well. */
    private static final int LOOK_AROUND = 4;
    /** How many times a comparison of neighbours outweighs one with an anchor: they differ less, so they err less. */
    private static final double NEIGHBOUR_WEIGHT = 5;
    /** A blank frame is black or white beyond these mean levels. */
    private static final double BLACK = 0.06;

    private final LightScale scale;
    private final List<Double> seconds = new ArrayList<>();
    private final LightLinks links = new LightLinks();
    /** Per frame: number of its shot, or -1 for a blank one; its mean level; its light from the shot's first frame as known so far. */
    private int[] shot = new int[256];
    private double[] mean = new double[256];
    private double[] stops = new double[256];
    private boolean[] blank = new boolean[256];
    /** Share of the places by which it agrees with the frame before; 1 where there is none to compare. */
    private double[] agreed = new double[256];

    private record Anchor(int frame, LightGrid grid, PlaceShift place) {
    }

    private final List<Anchor> anchors = new ArrayList<>();
    private Anchor current;
    /** The frame before, unless it was blank, and where the picture has moved to since the shot's first frame. */
    private Anchor previous;
    private PlaceShift lastPlace = PlaceShift.NONE;
    private int shots;

    /**
     * @param profile     through which light is read and will be undone
     * @param clipCeiling the clip's ceiling as measured, a level fraction
     */
    public LightMeter(Profile profile, double clipCeiling) {
        scale = new LightScale(profile, clipCeiling);
    }

    public int frames() {
        return seconds.size();
    }

    /** @param at time of the frame in the clip, in seconds; a time that does not rise is moved behind the one before */
    public void add(PlanarFrame picture, double at) {
        int frame = seconds.size();
        double last = frame == 0 ? Double.NEGATIVE_INFINITY : seconds.get(frame - 1);
        seconds.add(frame == 0 ? Double.isFinite(at) ? at : 0 : at > last && Double.isFinite(at) ? at : last + 1e-3);
        grow(frame);
        LightGrid grid = LightGrid.of(picture, scale);
        mean[frame] = grid.mean;
        blank[frame] = grid.toldShare() < LEAST_TOLD;
        if (blank[frame]) {
            shot[frame] = -1;
            previous = null;
            return;
        }
        place(frame, grid);
    }

    private void grow(int frame) {
        if (frame == shot.length) {
            shot = Arrays.copyOf(shot, 2 * frame);
            mean = Arrays.copyOf(mean, 2 * frame);
            stops = Arrays.copyOf(stops, 2 * frame);
            blank = Arrays.copyOf(blank, 2 * frame);
            agreed = Arrays.copyOf(agreed, 2 * frame);
        }
    }

    private void place(int frame, LightGrid grid) {
        LightRatio step = previous == null ? null : LightRatio.between(previous.grid(), grid, PlaceShift.NONE);
        if (step != null && (step.agreeing() < SAME_SHOT || step.compared() < LEAST_COMPARED)) {
            step = null;
        }
        agreed[frame] = step == null ? 1 : step.agreeing();
        PlaceShift place = lastPlace;
        if (step != null) {
            place = previous.place().then(step.place());
            shot[frame] = shots - 1;
            stops[frame] = stops[previous.frame()] + step.stops();
            links.add(previous.frame(), frame, step.stops(), NEIGHBOUR_WEIGHT * step.agreeing() * step.agreeing());
        }
        Anchor best = null;
        LightRatio ratio = null;
        if (!anchors.isEmpty()) {
            ratio = step != null && current.frame() == previous.frame() ? step : toAnchor(current, grid, place, frame % LOOK_AROUND == 0);
            best = current;
            boolean looksAround = step == null || ratio.agreeing() < GOOD_ANCHOR && frame % LOOK_AROUND == 0;
            for (int i = 0; looksAround && i < anchors.size(); i++) {
                LightRatio other = toAnchor(anchors.get(i), grid, place, true);
                if (other.agreeing() > ratio.agreeing() && other.compared() >= LEAST_ANCHORED) {
                    ratio = other;
                    best = anchors.get(i);
                }
            }
        }
        boolean isTied = ratio != null && ratio.compared() >= LEAST_ANCHORED && ratio.agreeing() >= (step == null ? GOOD_ANCHOR : POOR_ANCHOR);
        if (isTied) {
            if (step == null) {
                // Back after a blank or torn stretch: the same shot goes on.
                shot[frame] = shots - 1;
                stops[frame] = stops[best.frame()] + ratio.stops();
            }
            if (step == null || best.frame() != previous.frame()) {
                links.add(best.frame(), frame, ratio.stops(), ratio.agreeing() * ratio.agreeing());
            }
            current = best;
            place = best.place().then(ratio.place());
        } else if (step == null) {
            shots++;
            shot[frame] = shots - 1;
            stops[frame] = 0;
            anchors.clear();
            place = PlaceShift.NONE;
        }
        lastPlace = place;
        Anchor here = new Anchor(frame, grid, place);
        if (!isTied) {
            current = here;
            if (anchors.size() == MOST_ANCHORS) {
                // The first ones hold the shot together; of the others the oldest goes.
                anchors.remove(MOST_ANCHORS / 2);
            }
            anchors.add(here);
        }
        previous = here;
    }

    /**
     * Compared from where the picture has moved to by the last step; where that does not fit, what filled the picture may have moved
     * and not the camera, which is then where it was a frame ago, or when the anchor was taken.
     */
    private LightRatio toAnchor(Anchor anchor, LightGrid grid, PlaceShift place, boolean looksAround) {
        LightRatio best = LightRatio.between(anchor.grid(), grid, anchor.place().to(place));
        if (best.agreeing() < GOOD_ANCHOR && !place.equals(lastPlace)) {
            best = better(best, LightRatio.between(anchor.grid(), grid, anchor.place().to(lastPlace)));
        }
        if (best.agreeing() < GOOD_ANCHOR && looksAround) {
            best = better(best, LightRatio.between(anchor.grid(), grid, PlaceShift.NONE));
        }
        return best;
    }

    private static LightRatio better(LightRatio one, LightRatio other) {
        return other.agreeing() > one.agreeing() && other.compared() >= LEAST_ANCHORED ? other : one;
    }

    /**
     * What was found. Later frames may be added and the track asked for again.
     *
     * @throws IllegalStateException when no frame was added
     */
    public LightTrack finish() {
        int n = frames();
        if (n == 0) {
            throw new IllegalStateException("no frame was added to the light meter");
        }
        double[] times = seconds.stream().mapToDouble(Double::doubleValue).toArray();
        Fades fades = new Fades(mean, blank, n, BLACK);
        double[] level = Arrays.copyOf(stops, n);
        links.settle(level, fades.counts());
        return LightTrack.of(times, Arrays.copyOf(shot, n), level, Arrays.copyOf(agreed, n), fades);
    }
}
