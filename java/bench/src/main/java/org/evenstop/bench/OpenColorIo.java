// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import com.sun.jna.Native;
import com.sun.jna.NativeLibrary;
import java.nio.file.Path;
import org.evenstop.engine.frame.PackedFrame;

/** OpenColorIO's CPU processor on RGBA float, where it was installed when native/bench was built. */
final class OpenColorIo implements AutoCloseable {
    private static final NativeLibrary LIBRARY = load();

    private static final class Calls {
        static {
            Native.register(Calls.class, LIBRARY);
        }

        static native String evb_ocio_version();

        static native long evb_ocio_3d(float[] rgb, int size);

        static native long evb_ocio_1d(float[] levels, int size);

        static native int evb_ocio_apply(long look, long from, long to, int width, int rows);

        static native void evb_ocio_free(long look);
    }

    private final long look;

    private OpenColorIo(long look) {
        this.look = look;
        if (look == 0) {
            throw new IllegalStateException("OpenColorIO refuses the table");
        }
    }

    static boolean isThere() {
        return LIBRARY != null;
    }

    static String version() {
        return Calls.evb_ocio_version();
    }

    private static NativeLibrary load() {
        Path file = NativeLibraries.find("evenstop_bench_ocio");
        try {
            return file == null ? null : NativeLibrary.getInstance(file.toString());
        } catch (UnsatisfiedLinkError removedSince) {
            return null;
        }
    }

    /** @param cube as {@link LookUpTables#cube} gives it */
    static OpenColorIo cube(float[] cube) {
        return new OpenColorIo(Calls.evb_ocio_3d(cube, LookUpTables.EDGE));
    }

    static OpenColorIo tone(float[] levels) {
        return new OpenColorIo(Calls.evb_ocio_1d(levels, levels.length));
    }

    /** Rows of frames without padding, at these addresses. */
    void rows(PackedFrame shape, long from, long to, int rowFrom, int rowTo) {
        long offset = (long) rowFrom * shape.strideBytes();
        if (Calls.evb_ocio_apply(look, from + offset, to + offset, shape.width(), rowTo - rowFrom) != 0) {
            throw new IllegalStateException("OpenColorIO refuses the frame");
        }
    }

    @Override
    public void close() {
        Calls.evb_ocio_free(look);
    }
}
