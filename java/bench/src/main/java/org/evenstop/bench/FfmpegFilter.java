// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.nio.FloatBuffer;
import org.bytedeco.ffmpeg.avfilter.AVFilterContext;
import org.bytedeco.ffmpeg.avfilter.AVFilterGraph;
import org.bytedeco.ffmpeg.avutil.AVFrame;
import org.bytedeco.ffmpeg.global.avfilter;
import org.bytedeco.ffmpeg.global.avutil;
import org.bytedeco.javacpp.FloatPointer;
import org.evenstop.engine.frame.PackedFrame;

/**
 * One FFmpeg filter on planar float RGB (gbrpf32), in this process, fed frames of its own format: nothing is converted on the way,
 * so nothing is clipped and nothing but the filter is timed.
 */
final class FfmpegFilter implements AutoCloseable {
    private final AVFilterGraph graph = avfilter.avfilter_graph_alloc();
    private final AVFilterContext in = new AVFilterContext();
    private final AVFilterContext out = new AVFilterContext();
    private final AVFrame source = avutil.av_frame_alloc();
    private final AVFrame result = avutil.av_frame_alloc();

    /**
     * @param filter  as on FFmpeg's command line, e.g. {@code lut3d=file=...}
     * @param threads the filter may use
     */
    FfmpegFilter(String filter, PackedFrame picture, int threads) {
        avutil.av_log_set_level(avutil.AV_LOG_QUIET);
        int format = avutil.AV_PIX_FMT_GBRPF32LE;
        graph.nb_threads(threads);
        check(avfilter.avfilter_graph_create_filter(in, avfilter.avfilter_get_by_name("buffer"), "in",
            "video_size=" + picture.width() + "x" + picture.height() + ":pix_fmt=" + format + ":time_base=1/25", null, graph), "its source");
        String name = filter.substring(0, filter.indexOf('='));
        AVFilterContext look = new AVFilterContext();
        check(avfilter.avfilter_graph_create_filter(look, avfilter.avfilter_get_by_name(name), "look", filter.substring(name.length() + 1),
            null, graph), name);
        check(avfilter.avfilter_graph_create_filter(out, avfilter.avfilter_get_by_name("buffersink"), "out", (String) null, null, graph),
            "its sink");
        check(avfilter.avfilter_link(in, 0, look, 0), "linking");
        check(avfilter.avfilter_link(look, 0, out, 0), "linking");
        check(avfilter.avfilter_graph_config(graph, null), "its set-up");
        source.format(format);
        source.width(picture.width());
        source.height(picture.height());
        check(avutil.av_frame_get_buffer(source, 0), "a frame");
        // Planes are in the order G, B, R.
        for (int plane = 0; plane < 3; plane++) {
            int component = plane == 0 ? 1 : plane == 1 ? 2 : 0;
            for (int y = 0; y < picture.height(); y++) {
                FloatBuffer line = row(source, plane, y);
                int offset = picture.rowOffset(y) + 4 * component;
                for (int x = 0; x < picture.width(); x++) {
                    line.put(x, picture.memory().getFloat(offset + 16 * x));
                }
            }
        }
    }

    static String version() {
        return avutil.av_version_info().getString();
    }

    /** Sends the frame through. The filter may not write into it, so it fills a frame of its own pool. */
    void run() {
        avutil.av_frame_unref(result);
        check(avfilter.av_buffersrc_write_frame(in, source), "a frame in");
        check(avfilter.av_buffersink_get_frame(out, result), "a frame out");
    }

    /** A component, red first, of the frame that came out last. */
    float at(int x, int y, int component) {
        return row(result, component == 0 ? 2 : component == 1 ? 0 : 1, y).get(x);
    }

    private static FloatBuffer row(AVFrame frame, int plane, int y) {
        long offset = (long) y * frame.linesize(plane);
        return new FloatPointer(frame.data(plane).getPointer(offset)).capacity(frame.width()).asBuffer();
    }

    private static void check(int code, String what) {
        if (code < 0) {
            throw new IllegalStateException("FFmpeg refuses " + what + " (error " + code + ")");
        }
    }

    @Override
    public void close() {
        avutil.av_frame_free(result);
        avutil.av_frame_free(source);
        avfilter.avfilter_graph_free(graph);
    }
}
