// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.nio.file.Path;
import org.bytedeco.ffmpeg.avcodec.AVPacket;
import org.bytedeco.ffmpeg.avformat.AVFormatContext;
import org.bytedeco.ffmpeg.avformat.AVIOContext;
import org.bytedeco.ffmpeg.avformat.AVStream;
import org.bytedeco.ffmpeg.avutil.AVDictionary;
import org.bytedeco.ffmpeg.global.avcodec;
import org.bytedeco.ffmpeg.global.avformat;
import org.bytedeco.ffmpeg.global.avutil;

/** One uncompressed frame in a .nut file, in any pixel format, byte for byte. */
final class RawClip {
    private RawClip() {
    }

    static Path write(Path path, String pixelFormat, int width, int height, byte[] frame) {
        Libav.load();
        AVFormatContext format = new AVFormatContext(null);
        Libav.check(avformat.avformat_alloc_output_context2(format, null, "nut", Libav.url(path)), "raw clip");
        AVStream stream = avformat.avformat_new_stream(format, null);
        stream.codecpar().codec_type(avutil.AVMEDIA_TYPE_VIDEO);
        stream.codecpar().codec_id(avcodec.AV_CODEC_ID_RAWVIDEO);
        stream.codecpar().format(avutil.av_get_pix_fmt(pixelFormat));
        stream.codecpar().codec_tag(avcodec.avcodec_pix_fmt_to_codec_tag(avutil.av_get_pix_fmt(pixelFormat)));
        stream.codecpar().width(width);
        stream.codecpar().height(height);
        stream.time_base(Libav.rational(1, 25));
        AVIOContext io = new AVIOContext(null);
        Libav.check(avformat.avio_open(io, Libav.url(path), avformat.AVIO_FLAG_WRITE), "raw clip");
        format.pb(io);
        Libav.check(avformat.avformat_write_header(format, (AVDictionary) null), "raw clip");
        AVPacket packet = avcodec.av_packet_alloc();
        avcodec.av_new_packet(packet, frame.length);
        packet.data().put(frame, 0, frame.length);
        packet.pts(0);
        packet.dts(0);
        packet.duration(1);
        packet.flags(avcodec.AV_PKT_FLAG_KEY);
        Libav.check(avformat.av_interleaved_write_frame(format, packet), "raw clip");
        Libav.check(avformat.av_write_trailer(format), "raw clip");
        avcodec.av_packet_free(packet);
        avformat.avio_closep(format.pb());
        format.pb(null);
        avformat.avformat_free_context(format);
        return path;
    }
}
