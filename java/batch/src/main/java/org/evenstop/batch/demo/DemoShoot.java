// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.util.EnumMap;
import java.util.List;
import java.util.Map;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.profile.Profile;

/**
 * A day at a small harbour boatyard that does not exist, shot with a camera that does not exist either: everything is made by code, and every
 * clip is known as it should have been exposed. The same size and frame count give the same bytes, whatever the number of threads.
 */
final class DemoShoot {
    static final int FRAMES_PER_SECOND = 24;
    static final int MOST_FRAMES = 2400;

    private static final List<Shot> SHOTS = List.of(
        Shot.plain("01-slip-right", "exposed right", Views.SLIP, 0),
        Shot.plain("02-slip-over", "two stops over", Views.SLIP, 2),
        Shot.plain("03-slip-under", "two stops under", Views.SLIP, -2),
        Shot.plain("04-builder-under", "speaker, two stops under", Views.BUILDER, -2),
        Shot.plain("05-sailmaker-over", "speaker, one and a half over", Views.SAILMAKER, 1.5),
        Shot.plain("06-workshop-window", "back-lit, metered for window", Views.WINDOW, -0.7),
        Shot.plain("07-harbour-sky", "sky-heavy, 1.3 stops under", Views.SKY, -1.3),
        new Shot("08-jetty-wide", "letterboxed, 0.8 stops over", Views.JETTY, 0.8, 0, 1, 2.39),
        new Shot("09-shed-iris", "iris hunting, 1.2 either way", Views.SHED, 0, 1.2, 1, 0),
        new Shot("10-dusk-lamps", "low light, high gain", Views.DUSK, 0, 0, 9, 0));

    private final int width;
    private final int height;
    private final int frames;
    private final int threads;
    private final Profile profile = HarbourProfile.create();
    private final Camera camera = new Camera(profile);
    private final Map<Views, LightCanvas> drawn = new EnumMap<>(Views.class);

    /**
     * @param width, height size of the clips, 32x18 or more
     * @param frames        frames of each clip, 1 to {@value #MOST_FRAMES}
     */
    DemoShoot(int width, int height, int frames, int threads) {
        if (width < 32 || height < 18 || width > 4096 || height > 2304) {
            throw new IllegalArgumentException("size " + width + "x" + height + " is outside 32x18 to 4096x2304");
        }
        if (frames < 1 || frames > MOST_FRAMES) {
            throw new IllegalArgumentException(frames + " frames are outside 1 to " + MOST_FRAMES);
        }
        this.width = width;
        this.height = height;
        this.frames = frames;
        this.threads = threads;
    }

    static List<Shot> shots() {
        return SHOTS;
    }

    static Shot shot(String name) {
        return SHOTS.stream().filter(s -> s.name().equals(name)).findFirst()
            .orElseThrow(() -> new IllegalArgumentException("no demo clip is called " + name));
    }

    /** The camera setting every clip was shot with. */
    Profile profile() {
        return profile;
    }

    int width() {
        return width;
    }

    int height() {
        return height;
    }

    /** Films a clip as it was shot. */
    void film(Shot shot, FrameSink sink) {
        for (int i = 0; i < frames; i++) {
            PlanarFrame frame = sink.next();
            film(shot, i, frame);
            sink.accept(frame, seconds(i));
        }
    }

    /** One frame of a clip as it was shot. */
    void film(Shot shot, int index, PlanarFrame into) {
        record(shot, index, into, shot.stopsAt(seconds(index)), shot.gain());
    }

    /** The same frame, the same camera and profile, at another exposure and without noise: 0 stops is how it should have been. */
    void truth(Shot shot, int index, double stops, PlanarFrame into) {
        record(shot, index, into, stops, 0);
    }

    private void record(Shot shot, int index, PlanarFrame into, double stops, double gain) {
        LightCanvas canvas = canvas(shot.view());
        camera.record(canvas, left(shot, index), top(shot, index), into, stops, gain, Noise.hash(shot.seed(), index, 911),
            shot.barRows(width, height), threads);
    }

    /** The scene light a view is filmed from: larger than the frame, so that the camera can sway. */
    LightCanvas canvas(Views view) {
        return drawn.computeIfAbsent(view, v -> v.draw(width + 2 * marginX(), height + 2 * marginY(), threads));
    }

    /** Lets go of the light of the views that no shot after this one needs. */
    void forgetUnneeded(Shot done) {
        List<Shot> rest = SHOTS.subList(SHOTS.indexOf(done) + 1, SHOTS.size());
        drawn.keySet().removeIf(view -> rest.stream().noneMatch(s -> s.view() == view));
    }

    static double seconds(int index) {
        return (double) index / FRAMES_PER_SECOND;
    }

    private int marginX() {
        return Math.max(2, width / 64);
    }

    private int marginY() {
        return Math.max(2, height / 72);
    }

    /** A slow pan with a hand's sway, in whole columns so that nothing has to be resampled. */
    int left(Shot shot, int index) {
        double start = Noise.unit(shot.seed(), 1, 919);
        return (int) Math.rint(marginX() * (1 + 0.98 * Noise.sine(start + 0.19 * seconds(index))));
    }

    int top(Shot shot, int index) {
        double start = Noise.unit(shot.seed(), 2, 919);
        return (int) Math.rint(marginY() * (1 + 0.98 * Noise.sine(start + 0.31 * seconds(index))));
    }
}
