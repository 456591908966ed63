// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.frame;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;

/**
 * A view of interleaved pixels, {@code [height][width][components]}, in memory that someone else owns. Nothing is copied.
 *
 * <p>Row r begins at byte {@code originOffset + r * strideBytes} of {@code memory}; the stride may be negative or padded, and
 * need not be a multiple of the sample size. The buffer is used in native byte order through absolute access only, so one
 * frame may be read by many threads at once.
 *
 * @param memory       direct or heap buffer; its position and limit are ignored, its capacity is not
 * @param originOffset byte offset of the first pixel of row 0
 * @param strideBytes  signed distance in bytes from a row to the next
 * @param width        pixels in a row, 1 or more
 * @param height       rows, 1 or more
 */
public record PackedFrame(ByteBuffer memory, int originOffset, int strideBytes, int width, int height,
                          Components components, SampleDepth depth, AlphaState alpha) {

    public PackedFrame {
        if (width < 1 || height < 1) {
            throw new IllegalArgumentException("frame size " + width + "x" + height + " is empty; at least 1x1 is needed");
        }
        long rowBytes = (long) width * components.count() * depth.bytes();
        long last = originOffset + (long) (height - 1) * strideBytes;
        long lowest = Math.min(originOffset, last);
        long highest = Math.max(originOffset, last) + rowBytes;
        if (height > 1 && Math.abs((long) strideBytes) < rowBytes) {
            throw new IllegalArgumentException("stride of " + strideBytes + " bytes is shorter than a row of " + rowBytes + " bytes");
        }
        if (lowest < 0 || highest > memory.capacity()) {
            throw new IllegalArgumentException("frame of " + width + "x" + height + " needs bytes " + lowest + ".." + highest
                + " of a buffer of " + memory.capacity() + " bytes");
        }
        memory = memory.duplicate().clear().order(ByteOrder.nativeOrder());
    }

    /** A frame in new heap memory, rows top to bottom without padding. */
    public static PackedFrame allocate(int width, int height, Components components, SampleDepth depth, AlphaState alpha) {
        int stride = Math.multiplyExact(width, components.count() * depth.bytes());
        return new PackedFrame(ByteBuffer.allocate(Math.multiplyExact(stride, height)), 0, stride, width, height, components, depth, alpha);
    }

    /** Byte offset of the first sample of a row. */
    public int rowOffset(int row) {
        return originOffset + row * strideBytes;
    }

    public int rowBytes() {
        return width * components.count() * depth.bytes();
    }
}
