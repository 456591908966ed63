// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import org.bytedeco.ffmpeg.avfilter.AVFilterContext;
import org.bytedeco.ffmpeg.avfilter.AVFilterGraph;
import org.bytedeco.ffmpeg.avutil.AVDictionary;
import org.bytedeco.ffmpeg.avutil.AVFrame;
import org.bytedeco.ffmpeg.global.avfilter;
import org.bytedeco.ffmpeg.global.avutil;

/** FFmpeg's own {@code signalstats} filter, run on decoded frames in this process. */
final class SignalStats implements AutoCloseable {
    private final AVFilterGraph graph = avfilter.avfilter_graph_alloc();
    private final AVFilterContext source = new AVFilterContext(null);
    private final AVFilterContext sink = new AVFilterContext(null);

    /** What the filter says of one frame, in code values of the frame's depth. */
    record Values(int min, int low, double average, int high, int max) {
    }

    SignalStats(DecodedFrame like) {
        AVFrame av = like.av;
        String range = av.color_range() == avutil.AVCOL_RANGE_JPEG ? "pc" : "tv";
        String matrix = String.valueOf(av.colorspace());
        Libav.check(avfilter.avfilter_graph_create_filter(source, avfilter.avfilter_get_by_name("buffer"), "in",
            "video_size=" + av.width() + "x" + av.height() + ":pix_fmt=" + av.format() + ":time_base=1/25:pixel_aspect=1/1:range=" + range
                + ":colorspace=" + matrix, null, graph), "signalstats source");
        AVFilterContext stats = new AVFilterContext(null);
        Libav.check(avfilter.avfilter_graph_create_filter(stats, avfilter.avfilter_get_by_name("signalstats"), "stats", (String) null, null,
            graph), "signalstats");
        Libav.check(avfilter.avfilter_graph_create_filter(sink, avfilter.avfilter_get_by_name("buffersink"), "out", (String) null, null, graph),
            "signalstats sink");
        Libav.check(avfilter.avfilter_link(source, 0, stats, 0), "signalstats link");
        Libav.check(avfilter.avfilter_link(stats, 0, sink, 0), "signalstats link");
        Libav.check(avfilter.avfilter_graph_config(graph, null), "signalstats graph");
    }

    Values of(DecodedFrame frame) {
        Libav.check(avfilter.av_buffersrc_add_frame_flags(source, frame.av, avfilter.AV_BUFFERSRC_FLAG_KEEP_REF), "signalstats in");
        AVFrame out = avutil.av_frame_alloc();
        try {
            Libav.check(avfilter.av_buffersink_get_frame(sink, out), "signalstats out");
            AVDictionary d = out.metadata();
            return new Values(number(d, "YMIN"), number(d, "YLOW"), Double.parseDouble(Libav.entry(d, "lavfi.signalstats.YAVG")),
                number(d, "YHIGH"), number(d, "YMAX"));
        } finally {
            avutil.av_frame_free(out);
        }
    }

    private static int number(AVDictionary dictionary, String key) {
        return Integer.parseInt(Libav.entry(dictionary, "lavfi.signalstats." + key));
    }

    @Override
    public void close() {
        avfilter.avfilter_graph_free(graph);
    }
}
