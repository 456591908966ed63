// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.nio.file.Path;
import org.evenstop.batch.media.ClipInfo;
import org.evenstop.batch.media.ClipWriter;
import org.evenstop.batch.media.OutputCodec;
import org.evenstop.batch.media.PictureShape;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;

/** Clips of the demo shoot as files: BT.709, 10 bit 4:2:2, narrow range, no sound. */
public final class DemoClip {
    /** ITU-T H.273: 1 is BT.709 for primaries, transfer and matrix; FFmpeg counts chroma location from 1, left. */
    private static final ClipInfo.ColourTags BT709 = new ClipInfo.ColourTags(1, 1, 1, 1);

    private DemoClip() {
    }

    /** Films the shot of the slip that is two stops under; what was there is replaced. */
    public static void writeDark(Path target, OutputCodec codec, int width, int height, int frames, int threads) {
        film(new DemoShoot(width, height, frames, threads), DemoShoot.shot("03-slip-under"), target, codec);
    }

    static void film(DemoShoot shoot, Shot shot, Path target, OutputCodec codec) {
        PictureShape shape = new PictureShape(shoot.width(), shoot.height(), ChromaSampling.S422, CodeDepth.BITS10, LumaStandard.BT709, false, true, true);
        try (ClipWriter writer = ClipWriter.create(target, codec, shape, DemoShoot.FRAMES_PER_SECOND, 1, BT709, true)) {
            shoot.film(shot, new FrameSink() {
                private ClipWriter.EncodedFrame lent;

                @Override
                public PlanarFrame next() {
                    lent = writer.lend();
                    return lent.picture();
                }

                @Override
                public void accept(PlanarFrame frame, double seconds) {
                    writer.write(lent);
                }
            });
            writer.finish();
        }
    }
}
