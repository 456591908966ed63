// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.nio.FloatBuffer;

/**
 * Reads floats from memory of either kind, by way of some bytes that stay in the first-level cache: a loop of single floats that meets both kinds is
 * half as fast on either, and to copy them straight a view of each run would be made. Used by one thread.
 */
public final class FloatStage {
    private static final int FLOATS = 2048;

    private final byte[] bytes = new byte[Float.BYTES * FLOATS];
    private final FloatBuffer floats = ByteBuffer.wrap(bytes).order(ByteOrder.nativeOrder()).asFloatBuffer();

    /**
     * @param offset byte offset of the first float in {@code memory}; native byte order
     * @param into   receives {@code count} floats from index 0
     */
    public void load(ByteBuffer memory, int offset, float[] into, int count) {
        for (int i = 0; i < count; i += FLOATS) {
            int n = Math.min(FLOATS, count - i);
            memory.get(offset + Float.BYTES * i, bytes, 0, Float.BYTES * n);
            floats.get(0, into, i, n);
        }
    }
}
