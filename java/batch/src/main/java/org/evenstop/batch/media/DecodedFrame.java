// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import org.bytedeco.ffmpeg.avutil.AVFrame;
import org.bytedeco.ffmpeg.global.avutil;
import org.evenstop.engine.frame.PlanarFrame;

/**
 * One frame of a clip. The picture is a view of the decoder's memory (or of a buffer of this object) and valid until
 * {@link #release}. One thread at a time.
 */
public final class DecodedFrame {
    final AVFrame av;
    private final ClipReader owner;
    private PlanarFrame rearranged;
    private PlanarFrame picture;
    private long index;
    private long timestamp;
    private double seconds;

    DecodedFrame(ClipReader owner) {
        this.owner = owner;
        av = avutil.av_frame_alloc();
    }

    void fill(PixelLayout layout, PictureShape shape, boolean sourceFullRange, long frameIndex, long pts, double time) {
        if (layout.isViewable(av)) {
            picture = PixelLayout.view(av, shape);
        } else {
            if (rearranged == null) {
                rearranged = shape.allocate();
            }
            layout.rearrange(av, sourceFullRange, rearranged);
            picture = rearranged;
        }
        index = frameIndex;
        timestamp = pts;
        seconds = time;
    }

    /** True when {@link #picture} is the decoder's memory and the decoder is done with it: it may be written to then. */
    boolean isOurs() {
        return picture != rearranged && avutil.av_frame_is_writable(av) != 0;
    }

    /** Codes as decoded; not to be written to but by who was given the frame for that. */
    public PlanarFrame picture() {
        return picture;
    }

    /** Count of frames before this one in the clip. */
    public long index() {
        return index;
    }

    /** Presentation time in the clip's own time base, from the start of the clip. */
    long timestamp() {
        return timestamp;
    }

    /** Presentation time from the start of the clip. */
    public double seconds() {
        return seconds;
    }

    public boolean isInterlaced() {
        return (av.flags() & Libav.FRAME_INTERLACED) != 0;
    }

    public boolean isTopFieldFirst() {
        return (av.flags() & Libav.FRAME_TOP_FIELD_FIRST) != 0;
    }

    /** Gives the frame back to its reader; the picture must not be touched afterwards. */
    public void release() {
        picture = null;
        avutil.av_frame_unref(av);
        owner.takeBack(this);
    }
}
