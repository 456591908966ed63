// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.nio.ByteOrder;
import org.bytedeco.javacpp.FloatPointer;
import org.bytedeco.javacpp.IntPointer;
import org.bytedeco.opencv.global.opencv_core;
import org.bytedeco.opencv.global.opencv_imgproc;
import org.bytedeco.opencv.opencv_core.Mat;
import org.bytedeco.opencv.opencv_core.MatVector;
import org.bytedeco.opencv.opencv_core.Scalar;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.solve.Correction;

/**
 * The same three curves by OpenCV's own functions on whole float frames: transform for luma, remap through a table of
 * {@value #ENTRIES} entries for a curve (it interpolates in steps of 1/32 entry), and plane arithmetic.
 */
final class OpenCvCurves implements AutoCloseable {
    private static final int ENTRIES = 4096;

    private final Mat source;
    private final Mat result = new Mat();
    private final MatVector planes = new MatVector();
    private final Mat luma = new Mat();
    private final Mat position = new Mat();
    private final Mat zero;
    private final Mat factor = new Mat();
    private final Mat merged = new Mat();
    private final Mat weights;
    private final Mat chromaIn;
    private final Mat tone;
    private final Mat chromaOut;

    OpenCvCurves(PackedFrame picture, Correction correction) {
        source = new Mat(picture.height(), picture.width(), opencv_core.CV_32FC4, new FloatPointer(picture.memory().duplicate().clear()
            .order(ByteOrder.nativeOrder()).asFloatBuffer()));
        zero = new Mat(picture.height(), picture.width(), opencv_core.CV_32FC1, new Scalar(0));
        float r = (float) correction.standard().redWeight();
        float g = (float) correction.standard().greenWeight();
        float b = (float) correction.standard().blueWeight();
        weights = row(r, g, b, 0);
        chromaIn = table(correction.chromaIn());
        tone = table(correction.tone());
        chromaOut = table(correction.chromaOut());
    }

    private static Mat row(float... values) {
        Mat mat = new Mat(1, values.length, opencv_core.CV_32FC1);
        new FloatPointer(mat.data()).put(values, 0, values.length);
        return mat;
    }

    private static Mat table(Curve curve) {
        float[] values = new float[ENTRIES];
        for (int i = 0; i < ENTRIES; i++) {
            values[i] = curve.at((float) (Curve.DOMAIN_FROM + (Curve.DOMAIN_TO - Curve.DOMAIN_FROM) * i / (ENTRIES - 1)));
        }
        return row(values);
    }

    static String version() {
        return opencv_core.CV_VERSION;
    }

    void run(int threads) {
        opencv_core.setNumThreads(threads);
        opencv_core.split(source, planes);
        opencv_core.transform(source, luma, weights);
        scaleChroma(chromaIn);
        for (int c = 0; c < 3; c++) {
            Mat plane = planes.get(c);
            look(plane, tone, plane);
        }
        opencv_core.merge(planes, merged);
        opencv_core.transform(merged, luma, weights);
        scaleChroma(chromaOut);
        opencv_core.merge(planes, result);
    }

    private void look(Mat levels, Mat table, Mat into) {
        double scale = (ENTRIES - 1) / (Curve.DOMAIN_TO - Curve.DOMAIN_FROM);
        levels.convertTo(position, opencv_core.CV_32F, scale, -Curve.DOMAIN_FROM * scale);
        opencv_imgproc.remap(table, into, position, zero, opencv_imgproc.INTER_LINEAR, opencv_core.BORDER_REPLICATE, new Scalar(0));
    }

    private void scaleChroma(Mat table) {
        look(luma, table, factor);
        for (int c = 0; c < 3; c++) {
            Mat plane = planes.get(c);
            opencv_core.subtract(plane, luma, plane);
            opencv_core.multiply(plane, factor, plane);
            opencv_core.add(plane, luma, plane);
        }
    }

    float at(int x, int y, int component) {
        return new FloatPointer(result.ptr(y, x)).get(component);
    }

    /** Luma by transform and its histogram by calcHist, 1024 steps: what a general library does of measuring. */
    void histogram(int threads) {
        opencv_core.setNumThreads(threads);
        opencv_core.transform(source, luma, weights);
        try (Mat counts = new Mat(); Mat none = new Mat(); MatVector images = new MatVector(luma);
             IntPointer channel = new IntPointer(new int[] {0});
             IntPointer size = new IntPointer(new int[] {1024});
             FloatPointer range = new FloatPointer((float) Curve.DOMAIN_FROM, (float) Curve.DOMAIN_TO)) {
            opencv_imgproc.calcHist(images, channel, none, counts, size, range);
        }
    }

    @Override
    public void close() {
        for (Mat mat : new Mat[] {source, result, luma, position, zero, factor, merged, weights, chromaIn, tone, chromaOut}) {
            mat.close();
        }
        planes.close();
    }
}
