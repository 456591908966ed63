// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.nio.ByteBuffer;
import org.evenstop.engine.frame.SampleDepth;

/** Moves runs of samples between frame memory and float arrays: integer depths as 0..1, rounded to nearest and clamped on the way back. */
public final class SampleIo {
    private SampleIo() {
    }

    /**
     * @param offset byte offset of the first sample in {@code memory}
     * @param into   receives {@code count} levels from index 0
     */
    public static void load(ByteBuffer memory, int offset, SampleDepth depth, float[] into, int count) {
        switch (depth) {
            case BYTE -> {
                for (int i = 0; i < count; i++) {
                    into[i] = (memory.get(offset + i) & 0xff) * (1f / 255f);
                }
            }
            case SHORT -> {
                for (int i = 0; i < count; i++) {
                    into[i] = (memory.getShort(offset + 2 * i) & 0xffff) * (1f / 65535f);
                }
            }
            case HALF -> {
                for (int i = 0; i < count; i++) {
                    into[i] = HalfFloat.toFloat(memory.getShort(offset + 2 * i));
                }
            }
            case FLOAT -> {
                for (int i = 0; i < count; i++) {
                    into[i] = memory.getFloat(offset + 4 * i);
                }
            }
        }
    }

    public static void store(float[] from, int count, ByteBuffer memory, int offset, SampleDepth depth) {
        switch (depth) {
            case BYTE -> {
                for (int i = 0; i < count; i++) {
                    memory.put(offset + i, (byte) rounded(from[i], 255f));
                }
            }
            case SHORT -> {
                for (int i = 0; i < count; i++) {
                    memory.putShort(offset + 2 * i, (short) rounded(from[i], 65535f));
                }
            }
            case HALF -> {
                for (int i = 0; i < count; i++) {
                    memory.putShort(offset + 2 * i, HalfFloat.ofFloat(from[i]));
                }
            }
            case FLOAT -> {
                for (int i = 0; i < count; i++) {
                    memory.putFloat(offset + 4 * i, from[i]);
                }
            }
        }
    }

    private static int rounded(float level, float max) {
        return (int) (Math.min(Math.max(level, 0f), 1f) * max + 0.5f);
    }
}
