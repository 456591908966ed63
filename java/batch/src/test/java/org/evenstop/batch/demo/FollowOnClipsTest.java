// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import static org.evenstop.batch.media.MeanLuma.range;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.nio.file.Path;
import java.util.List;
import org.evenstop.batch.media.ClipInfo;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.ClipWriter;
import org.evenstop.batch.media.DecodedFrame;
import org.evenstop.batch.media.MeanLuma;
import org.evenstop.batch.media.OutputCodec;
import org.evenstop.batch.media.PictureShape;
import org.evenstop.batch.render.ClipRender;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.profile.Profile;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** The demo's clip with a hunting iris, and a steady one, rendered with light followed; mean luma is taken from the decoded files. */
class FollowOnClipsTest {
    private static final int FRAMES = 60;
    private static final DemoShoot SHOOT = new DemoShoot(320, 180, FRAMES, 2);

    @TempDir
    Path folder;

    private Path filmed(String name) {
        return filmed(DemoShoot.shot(name));
    }

    private Path filmed(Shot shot) {
        Path clip = folder.resolve(shot.name() + (shot.hunting() == 0 ? "" : "-hunting") + ".mov");
        PictureShape shape = new PictureShape(SHOOT.width(), SHOOT.height(), ChromaSampling.S422, CodeDepth.BITS10, LumaStandard.BT709, false, true, true);
        try (ClipWriter writer = ClipWriter.create(clip, OutputCodec.PRORES_HQ, shape, DemoShoot.FRAMES_PER_SECOND, 1,
            new ClipInfo.ColourTags(1, 1, 1, 1), true)) {
            for (int i = 0; i < FRAMES; i++) {
                ClipWriter.EncodedFrame lent = writer.lend();
                SHOOT.film(shot, i, lent.picture());
                writer.write(lent);
            }
            writer.finish();
        }
        return clip;
    }

    private ClipRender.Result rendered(Path clip, Profile profile, boolean follow) {
        ClipRender render = new ClipRender(new ClipRender.Settings(OutputCodec.PRORES_HQ, profile, EvenstopFiles.preset("even"), 1, true, 2),
            (stage, done, all) -> { });
        String name = profile.name() + (follow ? "-followed" : "");
        return (follow ? render.following() : render).run(clip, folder.resolve(name + ".mov"), folder.resolve(name + ".json"));
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

    @Test
    void aSteadyClipIsLeftAlone() {
        for (String name : List.of("01-slip-right", "06-workshop-window", "10-dusk-lamps")) {
            Path clip = filmed(name);
            double[] plain = MeanLuma.ofFrames(rendered(clip, SHOOT.profile(), false).output());
            ClipRender.Result result = rendered(clip, SHOOT.profile(), true);
            double[] out = MeanLuma.ofFrames(result.output());
            System.out.printf("%s: light within %.3f stops%n", name, result.follow().track().range());
            assertTrue(result.follow().track().isSteady(), name + ": " + result.follow().track().range());
            for (int i = 0; i < out.length; i++) {
                assertEquals(plain[i], out[i], 0, name);
            }
        }
    }
}
