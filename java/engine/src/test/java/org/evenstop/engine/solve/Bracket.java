// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.awt.image.BufferedImage;
import java.io.File;
import java.io.IOException;
import javax.imageio.ImageIO;
import org.evenstop.engine.evaluate.BlockDifference;
import org.evenstop.engine.evaluate.Scene;
import org.evenstop.engine.evaluate.SceneCamera;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;

/** A scene that tests of the solver shoot at any exposure into 10-bit codes: the engine's own ground truth, read from files. */
final class Bracket {
    final int width;
    final int height;
    /** Scene light, three planes, 0.18 mid grey. */
    final float[][] light;
    private final Scene scene;

    Bracket(int width, int height, float[][] light) {
        this(new Scene(width, height, light));
    }

    private Bracket(Scene scene) {
        this.scene = scene;
        width = scene.width();
        height = scene.height();
        light = scene.light();
    }

    /** A still as scene light, with about as many pixels as given. */
    static Bracket ofStill(File file, int pixels) throws IOException {
        BufferedImage image = ImageIO.read(file);
        int w = image.getWidth();
        int h = image.getHeight();
        return new Bracket(Scene.ofSrgb(w, h, image.getRGB(0, 0, w, h, null, 0, w), pixels));
    }

    /**
     * One exposure as a 4:4:4 10-bit frame.
     *
     * @param stops exposure error
     * @param noisy with the usual noise of {@link SceneCamera}
     */
    PlanarFrame shoot(Profile camera, double stops, boolean noisy, long seed) {
        return (noisy ? SceneCamera.noisy(camera, CodeDepth.BITS10) : new SceneCamera(camera, CodeDepth.BITS10, 0, 0)).shoot(scene, stops, seed);
    }

    /** One exposure as 4:4:4 frame of 12 bits without noise: as good as what was there. */
    PlanarFrame shootFinely(Profile camera, double stops) {
        return new SceneCamera(camera, CodeDepth.BITS12, 0, 0).shoot(scene, stops, 0);
    }

    /** Which pixels had all their light recorded: no channel at the camera's ceiling. */
    boolean[] recorded(Profile camera, double stops) {
        return SceneCamera.noisy(camera, CodeDepth.BITS10).recorded(scene, stops);
    }

    static Measurement measure(PlanarFrame frame, String name) {
        ClipMeter meter = new ClipMeter(frame.standard());
        meter.add(frame, 0);
        return meter.finish(name);
    }

    static PlanarFrame corrected(PlanarFrame frame, Correction correction) {
        PlanarFrame out = frame.allocateLike();
        new ScalarKernel().apply(frame, out, 0, frame.height(), correction, 1f);
        return out;
    }

    /** Mean and 95th percentile of CIEDE2000 between 8x8 block means of the pixels that count. */
    static double[] difference(PlanarFrame a, PlanarFrame b, boolean[] counts) {
        BlockDifference difference = BlockDifference.of(a, b, counts);
        return new double[] {difference.mean(), difference.p95()};
    }

    static double[] rgb(PlanarFrame f, int x, int y) {
        return BlockDifference.rgb(f, x, y);
    }
}
