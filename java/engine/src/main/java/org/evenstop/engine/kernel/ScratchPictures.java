// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;

/** Small pictures to rehearse on: levels from below black to above white, in colours that follow no period of the registers. */
public final class ScratchPictures {
    private ScratchPictures() {
    }

    /** An empty frame in native memory. */
    public static PackedFrame packed(int width, int rows, Components components, SampleDepth depth, AlphaState alpha) {
        int stride = width * components.count() * depth.bytes();
        ByteBuffer memory = ByteBuffer.allocateDirect(stride * rows).order(ByteOrder.nativeOrder());
        return new PackedFrame(memory, 0, stride, width, rows, components, depth, alpha);
    }

    /** An empty frame like another, but of this size and in native memory, as decoders give them: what is compiled is what will run. */
    public static PlanarFrame planar(int width, int rows, PlanarFrame like) {
        int lumaStride = width * like.depth().bytesPerSample();
        int chromaStride = like.sampling().chromaWidth(width) * like.depth().bytesPerSample();
        int chromaBytes = chromaStride * like.sampling().chromaHeight(rows);
        return new PlanarFrame(ByteBuffer.allocateDirect(lumaStride * rows), ByteBuffer.allocateDirect(chromaBytes), ByteBuffer.allocateDirect(chromaBytes),
            lumaStride, chromaStride, width, rows, like.sampling(), like.depth(), like.standard(), like.fullRange(), like.chromaCosited(), like.chromaTop());
    }

    /** Alpha runs from 0 to 1. */
    public static void paint(PackedFrame frame) {
        int channels = frame.components().count();
        float[] row = new float[frame.width() * channels];
        for (int y = 0; y < frame.height(); y++) {
            for (int i = 0; i < row.length; i++) {
                row[i] = channels == 4 && i % 4 == 3 ? (i / 4 + y) % 5 * 0.25f : -0.06f + (i * 37 + y * 11) % 1009 / 1009f * 1.15f;
            }
            SampleIo.store(row, row.length, frame.memory(), frame.rowOffset(y), frame.depth());
        }
    }

    public static void paint(PlanarFrame frame) {
        int codes = frame.depth().maxCode() + 1;
        for (int y = 0; y < frame.height(); y++) {
            for (int x = 0; x < frame.width(); x++) {
                frame.setLumaCode(x, y, (x * 17 + y * 251) % codes);
            }
        }
        for (int y = 0; y < frame.sampling().chromaHeight(frame.height()); y++) {
            for (int x = 0; x < frame.sampling().chromaWidth(frame.width()); x++) {
                frame.setCbCode(x, y, (x * 29 + y * 7) % codes);
                frame.setCrCode(x, y, (x * 13 + y * 101) % codes);
            }
        }
    }
}
