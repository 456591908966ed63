// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import com.sun.jna.Native;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;

/** The C library's {@code memcpy}: the copy that everything is compared with. */
final class CLibrary {
    static {
        Native.register("c");
    }

    private CLibrary() {
    }

    private static native long memcpy(long to, long from, long bytes);

    /** Copies rows of frames of one shape; both in native memory, rows without padding. */
    static void copyRows(PackedFrame from, PackedFrame to, long fromAddress, long toAddress, int rowFrom, int rowTo) {
        memcpy(toAddress + to.rowOffset(rowFrom), fromAddress + from.rowOffset(rowFrom), (long) (rowTo - rowFrom) * from.rowBytes());
    }

    /** The addresses of a planar frame's planes: luma, Cb, Cr. */
    static long[] planes(PlanarFrame frame) {
        return new long[] {TestPicture.address(frame.luma()), TestPicture.address(frame.cb()), TestPicture.address(frame.cr())};
    }

    /** Copies luma rows and the chroma rows that belong to them; {@code rowFrom} is even. */
    static void copyRows(PlanarFrame shape, long[] from, long[] to, int rowFrom, int rowTo) {
        memcpy(to[0] + (long) rowFrom * shape.lumaStride(), from[0] + (long) rowFrom * shape.lumaStride(),
            (long) (rowTo - rowFrom) * shape.lumaStride());
        int shift = shape.sampling().shiftY();
        int first = rowFrom >> shift;
        int last = rowTo == shape.height() ? shape.sampling().chromaHeight(rowTo) : rowTo >> shift;
        for (int plane = 1; plane <= 2; plane++) {
            memcpy(to[plane] + (long) first * shape.chromaStride(), from[plane] + (long) first * shape.chromaStride(),
                (long) (last - first) * shape.chromaStride());
        }
    }
}
