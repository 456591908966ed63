// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import static org.evenstop.batch.media.MeanLuma.range;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.nio.file.Path;
import java.util.List;
import java.util.Set;
import java.util.function.ObjIntConsumer;
import org.evenstop.batch.media.ClipInfo;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.ClipWriter;
import org.evenstop.batch.media.DecodedFrame;
import org.evenstop.batch.media.MeanLuma;
import org.evenstop.batch.media.OutputCodec;
import org.evenstop.batch.media.PictureShape;
import org.evenstop.batch.render.ClipRender;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.profile.Profile;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** The demo's clip with a hunting iris, and steady ones, rendered with light followed; mean luma is taken from the decoded files. */
class FollowOnClipsTest {
    private static final int FRAMES = 60;
    private static final int STILL_FRAMES = 48;
    /** Lamps: swings a frame, as where the mains beat against the frame rate, and how many stops half a percent of light is. */
    private static final double LAMPS = 0.17;
    private static final double HALF_A_PERCENT = 0.0072;
    /** Rounding of 57,600 pixels to 10 bit moves a mean by 0.00014 %; the largest of some fifty changes misses by 2.5 times the root of 2 of that. */
    private static final double ROUNDING = 0.0006;
    /** What ProRes adds to changes of the mean of so few pixels: up to 0.0015 % was measured. */
    private static final double CODING = 0.002;
    private static final DemoShoot SHOOT = new DemoShoot(320, 180, FRAMES, 2);

    @TempDir
    Path folder;

    private Path filmed(String name) {
        return filmed(DemoShoot.shot(name));
    }

    private Path filmed(Shot shot) {
        return written(shot.name() + (shot.hunting() == 0 ? "" : "-hunting"), FRAMES, (frame, i) -> SHOOT.film(shot, i, frame));
    }

    /** A place from a tripod, its noise from frame to frame another, under lamps that flicker by so many stops either way. */
    private Path fromATripod(Shot shot, double stops, double flicker) {
        Camera camera = new Camera(SHOOT.profile());
        LightCanvas canvas = SHOOT.canvas(shot.view());
        return written(shot.name() + "-tripod" + stops + "-" + flicker, STILL_FRAMES, (frame, i) -> camera.record(canvas, 4, 2, frame,
            stops + flicker * Math.sin(2 * Math.PI * LAMPS * i), shot.gain(), Noise.hash(shot.seed(), i, 911), 0, 2));
    }

    private Path written(String name, int frames, ObjIntConsumer<PlanarFrame> film) {
        Path clip = folder.resolve(name + ".mov");
        PictureShape shape = new PictureShape(SHOOT.width(), SHOOT.height(), ChromaSampling.S422, CodeDepth.BITS10, LumaStandard.BT709, false, true, true);
        try (ClipWriter writer = ClipWriter.create(clip, OutputCodec.PRORES_HQ, shape, DemoShoot.FRAMES_PER_SECOND, 1,
            new ClipInfo.ColourTags(1, 1, 1, 1), true)) {
            for (int i = 0; i < frames; i++) {
                ClipWriter.EncodedFrame lent = writer.lend();
                film.accept(lent.picture(), i);
                writer.write(lent);
            }
            writer.finish();
        }
        return clip;
    }

    private ClipRender.Result rendered(Path clip, Profile profile, boolean follow) {
        return rendered(clip, profile, "even", OutputCodec.PRORES_HQ, follow);
    }

    private ClipRender.Result rendered(Path clip, Profile profile, String preset, OutputCodec codec, boolean follow) {
        ClipRender render = new ClipRender(new ClipRender.Settings(codec, profile, EvenstopFiles.preset(preset), 1, true, 2),
            (stage, done, all) -> { });
        String name = profile.name() + (follow ? "-followed" : "");
        return (follow ? render.following() : render).run(clip, folder.resolve(name + "." + codec.extension()), folder.resolve(name + ".json"));
    }

    /** Share of pixels within a code of the highest, or of what is held below it, that were not there before: at most 0.1 % of any frame. */
    private static void assertNothingNewIsClipped(Path before, Path after, String what) {
        try (ClipReader a = ClipReader.open(before); ClipReader b = ClipReader.open(after)) {
            for (DecodedFrame x = a.next(); x != null; x = a.next()) {
                DecodedFrame y = b.next();
                int count = 0;
                for (int row = 0; row < SHOOT.height(); row++) {
                    for (int column = 0; column < SHOOT.width(); column++) {
                        boolean clipped = y.picture().lumaCode(column, row) >= 1015;
                        count += clipped && x.picture().lumaCode(column, row) < 1010 ? 1 : 0;
                    }
                }
                assertTrue(count <= SHOOT.width() * SHOOT.height() / 1000, what + ", frame " + x.index() + ": " + count);
                x.release();
                y.release();
            }
        }
    }

    /** Through the camera's own profile and through shipped ones of its family and of another. */
    @Test
    void aHuntingIrisIsAtLeastHalvedWithoutSteps() {
        Path clip = filmed("09-shed-iris");
        double[] in = MeanLuma.ofFrames(clip);
        for (Profile profile : List.of(SHOOT.profile(), EvenstopFiles.profile("cinema-soft"), EvenstopFiles.profile("rec709-knee"))) {
            double[] plain = MeanLuma.ofFrames(rendered(clip, profile, false).output());
            ClipRender.Result result = rendered(clip, profile, true);
            double[] out = MeanLuma.ofFrames(result.output());
            double worst = 0;
            double added = Double.NEGATIVE_INFINITY;
            for (int i = 1; i < out.length; i++) {
                double step = Math.abs(out[i] - out[i - 1]);
                worst = Math.max(worst, step);
                added = Math.max(added, step - Math.abs(plain[i] - plain[i - 1]));
            }
            assertNothingNewIsClipped(clip, result.output(), profile.name());
            System.out.printf("09-shed-iris through %s: mean luma ranges over %.2f %% as shot, %.2f %% with one correction, %.2f %% followed; "
                + "largest step %.3f %%, added %.3f %%%n", profile.name(), range(in), range(plain), range(out), worst, added);
            assertTrue(range(out) < 0.5 * range(in), profile.name() + ": " + range(out));
            assertTrue(range(out) < 0.15 * range(plain), profile.name() + ": " + range(out));
            assertTrue(added <= 0.2 && worst <= 0.4, profile.name() + ": step " + worst + ", added " + added);
            assertEquals(2.4, result.follow().track().range(), 0.5);
        }
    }

    /** What is followed lands where the same shot would have landed with its iris left alone. */
    @Test
    void aFollowedClipLandsWhereASteadyOneDoes() {
        Shot hunting = DemoShoot.shot("09-shed-iris");
        Shot still = new Shot(hunting.name(), hunting.how(), hunting.view(), hunting.stops(), 0, hunting.gain(), hunting.wide());
        ClipRender.Result wanted = rendered(filmed(still), SHOOT.profile(), true);
        ClipRender.Result got = rendered(filmed(hunting), SHOOT.profile(), true);
        System.out.printf("steady %s %.3f, followed %s %.3f stops%n", wanted.after(), wanted.correction().origin().stops(), got.after(),
            got.correction().origin().stops());
        assertEquals(wanted.after().p0_5(), got.after().p0_5(), 1);
        assertEquals(wanted.after().p50(), got.after().p50(), 1.5);
        assertEquals(wanted.after().p99(), got.after().p99(), 1.5);
    }

    private record Changes(double mean, double usualLargest, double largest) {
        static Changes of(double[] means) {
            return new Changes(MeanLuma.meanChange(means), MeanLuma.usualLargestChange(means), MeanLuma.largestChange(means));
        }

        /** In parts of another's. */
        String over(Changes in) {
            return String.format("%.2f %.2f %.2f", mean / in.mean, usualLargest / in.usualLargest, largest / in.largest);
        }
    }

    private static String relative(double[] means, double[] in) {
        double sum = 0;
        double of = 0;
        for (int i = 1; i < means.length; i++) {
            sum += Math.abs(means[i] / means[i - 1] - 1);
            of += Math.abs(in[i] / in[i - 1] - 1);
        }
        return String.format("%.2f", sum / of);
    }

    private static void tell(String what, double[] in, double[] plain, double[] out) {
        Changes shot = Changes.of(in);
        System.out.printf("%s: changes of mean luma (mean, 95th percentile, largest) %.4f %.4f %.4f %% as shot, times %s with one correction, times %s followed; "
            + "mean of the relative change times %s and %s%n", what, shot.mean, shot.usualLargest, shot.largest, Changes.of(plain).over(shot),
            Changes.of(out).over(shot), relative(plain, in), relative(out, in));
    }

    /** Luma and chroma of a followed clip lie within a code of those of one correction. */
    private static void assertWithinACode(Path plain, Path followed, String what) {
        try (ClipReader a = ClipReader.open(plain); ClipReader b = ClipReader.open(followed)) {
            for (DecodedFrame x = a.next(); x != null; x = a.next()) {
                DecodedFrame y = b.next();
                int most = 0;
                for (int row = 0; row < SHOOT.height(); row++) {
                    for (int column = 0; column < SHOOT.width(); column++) {
                        most = Math.max(most, Math.abs(x.picture().lumaCode(column, row) - y.picture().lumaCode(column, row)));
                        if (column % 2 == 0) {
                            most = Math.max(most, Math.abs(x.picture().cbCode(column / 2, row) - y.picture().cbCode(column / 2, row)));
                            most = Math.max(most, Math.abs(x.picture().crCode(column / 2, row) - y.picture().crCode(column / 2, row)));
                        }
                    }
                }
                assertTrue(most <= 1, what + ", frame " + x.index() + ": " + most + " codes apart");
                x.release();
                y.release();
            }
            assertEquals(null, b.next());
        }
    }

    /** Noise alone, and lamps that go by half a percent of light either way: neither becomes larger than it was shot. */
    @Test
    void aFixedSceneFlickersNoMoreThanAsShot() {
        for (double stops : new double[] {-2, 0, 2}) {
            for (double flicker : new double[] {0, HALF_A_PERCENT}) {
                Path clip = fromATripod(DemoShoot.shot("01-slip-right"), stops, flicker);
                double[] in = MeanLuma.ofFrames(clip);
                Changes shot = Changes.of(in);
                for (String preset : List.of("even", "airy", "landscape")) {
                    String what = String.format("fixed scene at %+.0f stops, lamps %.4f, %s", stops, flicker, preset);
                    Path alone = rendered(clip, SHOOT.profile(), preset, OutputCodec.FFV1, false).output();
                    ClipRender.Result result = rendered(clip, SHOOT.profile(), preset, OutputCodec.FFV1, true);
                    double[] plain = MeanLuma.ofFrames(alone);
                    double[] out = MeanLuma.ofFrames(result.output());
                    tell(what, in, plain, out);
                    Changes kept = Changes.of(out);
                    assertTrue(result.follow().track().isSteady(), what);
                    assertTrue(kept.mean <= shot.mean + ROUNDING && kept.usualLargest <= shot.usualLargest + ROUNDING && kept.largest <= shot.largest + ROUNDING, what);
                    assertTrue(stops > -2 || Changes.of(plain).mean > 1.4 * shot.mean, what + ": one correction alone would do");
                    assertWithinACode(alone, result.output(), what);
                    assertEquals(Changes.of(plain).mean - kept.mean > 0.01, notesOf(result).contains("trims of less than a 10-bit code"), what + notesOf(result));
                }
            }
        }
    }

    private static String notesOf(ClipRender.Result result) {
        return String.join(" ", result.notes());
    }

    /**
     * Clips from the hand, whose picture sways. Trims under a code hold back what the sway does to the mean from frame to frame; where it goes
     * farther than that, at least half of what the correction adds.
     */
    @Test
    void aSteadyClipFromTheHandChangesNoMoreThanAsShotAsFarAsACodeGoes() {
        Set<String> farther = Set.of("02-slip-over", "03-slip-under", "04-builder-under", "10-dusk-lamps");
        for (Shot shot : DemoShoot.shots()) {
            if (shot.hunting() != 0) {
                continue;
            }
            Path clip = filmed(shot);
            double[] in = MeanLuma.ofFrames(clip);
            double room = farther.contains(shot.name()) ? 0.5 : 0;
            for (OutputCodec codec : List.of(OutputCodec.FFV1, OutputCodec.PRORES_HQ)) {
                String what = shot.name() + " as " + codec.extension();
                double[] plain = MeanLuma.ofFrames(rendered(clip, SHOOT.profile(), "even", codec, false).output());
                ClipRender.Result result = rendered(clip, SHOOT.profile(), "even", codec, true);
                double[] out = MeanLuma.ofFrames(result.output());
                tell(what, in, plain, out);
                assertTrue(result.follow().track().isSteady(), what + ": " + result.follow().track().range());
                double unsure = codec == OutputCodec.FFV1 ? ROUNDING : CODING;
                Changes was = Changes.of(in);
                Changes alone = Changes.of(plain);
                Changes kept = Changes.of(out);
                assertTrue(kept.mean <= was.mean + room * (alone.mean - was.mean) + unsure, what + ": mean " + kept.mean + " of " + was.mean);
                assertTrue(kept.usualLargest <= was.usualLargest + room * (alone.usualLargest - was.usualLargest) + unsure,
                    what + ": usual largest " + kept.usualLargest + " of " + was.usualLargest);
                for (int i = 0; i < out.length; i++) {
                    assertEquals(plain[i], out[i], 100 / 876.0, what + ", frame " + i);
                }
            }
        }
    }

    /** The correction of a bright clip that is pulled down is no steeper than the camera was there: nothing is trimmed, bit for bit. */
    @Test
    void aClipThatBecomesCalmerIsLeftExactlyAlone() {
        Path clip = filmed("05-sailmaker-over");
        Path alone = rendered(clip, SHOOT.profile(), "lowLight", OutputCodec.FFV1, false).output();
        ClipRender.Result result = rendered(clip, SHOOT.profile(), "lowLight", OutputCodec.FFV1, true);
        assertTrue(result.follow().trim().isNone());
        assertTrue(MeanLuma.meanChange(MeanLuma.ofFrames(alone)) < 0.9 * MeanLuma.meanChange(MeanLuma.ofFrames(clip)));
        try (ClipReader a = ClipReader.open(alone); ClipReader b = ClipReader.open(result.output())) {
            for (DecodedFrame x = a.next(); x != null; x = a.next()) {
                DecodedFrame y = b.next();
                for (int row = 0; row < SHOOT.height(); row++) {
                    for (int column = 0; column < SHOOT.width(); column++) {
                        assertEquals(x.picture().lumaCode(column, row), y.picture().lumaCode(column, row));
                    }
                }
                x.release();
                y.release();
            }
        }
    }
}
