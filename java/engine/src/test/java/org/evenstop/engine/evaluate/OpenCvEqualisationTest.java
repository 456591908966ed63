// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Random;
import org.bytedeco.javacpp.indexer.UByteIndexer;
import org.bytedeco.opencv.global.opencv_core;
import org.bytedeco.opencv.global.opencv_imgproc;
import org.bytedeco.opencv.opencv_core.Mat;
import org.junit.jupiter.api.Test;

/**
 * Our histogram equalisation beside OpenCV's equalizeHist (4.11, module imgproc) on the same 8-bit pictures. OpenCV sends the darkest code that
 * occurs to 0 and spreads the rest (its share of the pixels is left out of the sum); Gonzalez and Woods, whom ours follows, do not. So the two
 * differ by that share of 255, falling to nothing at the bright end, and by rounding: at most one code.
 */
class OpenCvEqualisationTest {
    @Test
    void agreesWithOpenCvBesidesWhatBecomesOfTheDarkestCode() {
        int width = 320;
        int height = 200;
        for (int picture = 0; picture < 4; picture++) {
            Random random = new Random(40 + picture);
            int[] counts = new int[256];
            Mat image = new Mat(height, width, opencv_core.CV_8UC1);
            double middle = 40 + 45 * picture;
            try (UByteIndexer at = image.createIndexer()) {
                for (int y = 0; y < height; y++) {
                    for (int x = 0; x < width; x++) {
                        double wave = 50 * Math.sin(x * 0.05) * Math.cos(y * 0.07);
                        int code = (int) Math.max(0, Math.min(255, Math.round(middle + wave + 8 * random.nextGaussian())));
                        at.put(y, x, code);
                        counts[code]++;
                    }
                }
            }
            Mat equalised = new Mat();
            opencv_imgproc.equalizeHist(image, equalised);
            int[] map = Baselines.equalisation(counts, 256);
            int darkest = 0;
            while (counts[darkest] == 0) {
                darkest++;
            }
            double darkestShare = counts[darkest] / (double) (width * height);
            int most = 0;
            try (UByteIndexer in = image.createIndexer(); UByteIndexer out = equalised.createIndexer()) {
                for (int y = 0; y < height; y++) {
                    for (int x = 0; x < width; x++) {
                        int ours = map[in.get(y, x)];
                        int theirs = out.get(y, x);
                        // Before rounding, ours less theirs is q (255 - theirs), q the darkest code's share.
                        double apart = ours - theirs - darkestShare * (255 - theirs);
                        assertTrue(Math.abs(apart) <= 1.01, "picture " + picture + ": code " + in.get(y, x) + " becomes " + ours + ", in OpenCV " + theirs
                            + "; the darkest code " + darkest + " holds " + darkestShare);
                        most = Math.max(most, Math.abs(ours - theirs));
                    }
                }
            }
            System.out.println("equalisation, picture " + picture + ": at most " + most + " codes from OpenCV's; darkest code holds " + 100 * darkestShare + " %");
        }
    }
}
