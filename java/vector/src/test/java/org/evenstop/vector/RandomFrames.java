// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.util.Random;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.HalfFloat;

/** Frames of random shape: widths that miss the lanes, odd strides of either sign, unaligned, on the heap and outside it. */
final class RandomFrames {
    private RandomFrames() {
    }

    /**
     * A frame of random bytes.
     *
     * @param slack bytes behind the last row
     */
    static PackedFrame packed(Random random, Components[] components, int[] widths, int mostRows, int slack) {
        SampleDepth[] depths = SampleDepth.values();
        AlphaState[] alphas = AlphaState.values();
        int width = widths[random.nextInt(widths.length)];
        int height = 1 + random.nextInt(mostRows);
        Components layout = components[random.nextInt(components.length)];
        SampleDepth depth = depths[random.nextInt(depths.length)];
        int rowBytes = width * layout.count() * depth.bytes();
        int stride = (rowBytes + random.nextInt(3) * random.nextInt(40)) * (random.nextBoolean() ? 1 : -1);
        int guard = random.nextInt(70);
        int size = guard + Math.abs(stride) * (height - 1) + rowBytes + slack;
        ByteBuffer memory = random.nextInt(4) == 0 ? ByteBuffer.allocate(size) : ByteBuffer.allocateDirect(size);
        memory.order(ByteOrder.nativeOrder());
        byte[] noise = new byte[size];
        random.nextBytes(noise);
        memory.put(0, noise);
        int origin = stride < 0 ? guard + Math.abs(stride) * (height - 1) : guard;
        return new PackedFrame(memory, origin, stride, width, height, layout, depth, alphas[random.nextInt(alphas.length)]);
    }

    /** Writes one sample, as near as its depth allows. */
    static void put(PackedFrame frame, int row, int i, float level) {
        int at = frame.rowOffset(row) + i * frame.depth().bytes();
        switch (frame.depth()) {
            case BYTE -> frame.memory().put(at, (byte) (int) (255 * Math.min(Math.max(level, 0), 1) + 0.5f));
            case SHORT -> frame.memory().putShort(at, (short) (int) (65535 * Math.min(Math.max(level, 0), 1) + 0.5f));
            case HALF -> frame.memory().putShort(at, HalfFloat.ofFloat(level));
            default -> frame.memory().putFloat(at, level);
        }
    }
}
