// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.nio.file.Path;
import java.util.Arrays;
import java.util.Locale;
import java.util.Set;
import java.util.function.Consumer;
import org.bytedeco.ffmpeg.avcodec.AVCodec;
import org.bytedeco.ffmpeg.avcodec.AVCodecContext;
import org.bytedeco.ffmpeg.avcodec.AVCodecParameters;
import org.bytedeco.ffmpeg.avcodec.AVPacket;
import org.bytedeco.ffmpeg.avformat.AVFormatContext;
import org.bytedeco.ffmpeg.avformat.AVStream;
import org.bytedeco.ffmpeg.avutil.AVDictionary;
import org.bytedeco.ffmpeg.avutil.AVFrame;
import org.bytedeco.ffmpeg.avutil.AVRational;
import org.bytedeco.ffmpeg.global.avcodec;
import org.bytedeco.ffmpeg.global.avformat;
import org.bytedeco.ffmpeg.global.avutil;
import org.evenstop.engine.InputException;

/** One pass over a clip file from its start: demultiplexer, decoder, and what went wrong in it. One thread at a time. */
final class DecodingPass implements AutoCloseable {
    /** Containers that only point at other files or addresses, or that turn text into pictures. */
    private static final Set<String> REFUSED_CONTAINERS = Set.of("concat", "hls", "dash", "sdp", "rtsp", "rtp", "tty", "imf",
        "webm_dash_manifest", "lavfi", "ffmetadata");

    final AVFormatContext format;
    final AVStream stream;
    private final AVPacket packet = avcodec.av_packet_alloc();
    private AVCodecContext decoder;
    private long[] onlyThese;
    private int nextOfThese;
    long videoPackets;
    private boolean draining;
    long corruptPackets;
    boolean ended;
    boolean endedByError;
    double lastEnd;

    DecodingPass(Path path) {
        String clip = path.toString();
        AVFormatContext opened = new AVFormatContext(null);
        AVDictionary options = new AVDictionary(null);
        avutil.av_dict_set(options, "protocol_whitelist", "file", 0);
        avutil.av_dict_set(options, "pattern_type", "none", 0);
        int code = avformat.avformat_open_input(opened, Libav.url(path), null, options);
        avutil.av_dict_free(options);
        if (code < 0) {
            avcodec.av_packet_free(packet);
            throw new InputException(clip + ": is not a clip that can be read (" + Libav.describe(code) + "); "
                + hintFor(path));
        }
        format = opened;
        AVStream found = null;
        try {
            String container = Libav.text(format.iformat().name());
            if (Arrays.stream(container.split(",")).anyMatch(REFUSED_CONTAINERS::contains)) {
                throw new InputException(clip + ": is a " + container + " file, which holds no picture itself; give the clips");
            }
            Libav.check(avformat.avformat_find_stream_info(format, (AVDictionary) null), clip + ": its streams cannot be made out");
            found = pictureStream(clip);
            openDecoder(found, clip);
        } catch (RuntimeException failed) {
            stream = null;
            close();
            throw failed;
        }
        stream = found;
    }

    private static String hintFor(Path path) {
        String name = path.getFileName().toString().toLowerCase(Locale.ROOT);
        if (name.endsWith(".mov") || name.endsWith(".mp4") || name.endsWith(".m4v")) {
            return "it is no video, or was cut short before its index was written: copy it again from its card";
        }
        return "give a video file; if it is one, copy it again from its card";
    }

    private AVStream pictureStream(String clip) {
        int best = avformat.av_find_best_stream(format, avutil.AVMEDIA_TYPE_VIDEO, -1, -1, (AVCodec) null, 0);
        if (best >= 0 && (format.streams(best).disposition() & avformat.AV_DISPOSITION_ATTACHED_PIC) == 0) {
            return format.streams(best);
        }
        boolean audio = false;
        boolean undecodable = false;
        for (int i = 0; i < format.nb_streams(); i++) {
            int type = format.streams(i).codecpar().codec_type();
            audio |= type == avutil.AVMEDIA_TYPE_AUDIO;
            undecodable |= type == avutil.AVMEDIA_TYPE_VIDEO
                && (format.streams(i).disposition() & avformat.AV_DISPOSITION_ATTACHED_PIC) == 0;
        }
        throw new InputException(clip + (undecodable ? ": its picture has a codec that the bundled FFmpeg does not decode; convert it first"
            : audio ? ": holds sound but no picture; leave it out" : ": holds no picture; leave it out"));
    }

    private void openDecoder(AVStream from, String clip) {
        AVCodecParameters parameters = from.codecpar();
        AVCodec codec = avcodec.avcodec_find_decoder(parameters.codec_id());
        if (codec == null || codec.isNull()) {
            throw new InputException(clip + ": codec " + Libav.text(avcodec.avcodec_get_name(parameters.codec_id()))
                + " is not one the bundled FFmpeg decodes; convert the clip first");
        }
        decoder = avcodec.avcodec_alloc_context3(codec);
        Libav.check(avcodec.avcodec_parameters_to_context(decoder, parameters), clip + ": decoder");
        decoder.pkt_timebase(from.time_base());
        decoder.thread_count(Libav.threads());
        Libav.check(avcodec.avcodec_open2(decoder, codec, (AVDictionary) null),
            clip + ": the decoder for " + Libav.text(codec.name()) + " does not start");
    }

    long startTime() {
        AVRational base = stream.time_base();
        AVRational micro = Libav.rational(1, 1_000_000);
        long start = format.start_time();
        return start == avutil.AV_NOPTS_VALUE ? stream.start_time() == avutil.AV_NOPTS_VALUE ? 0 : stream.start_time()
            : avutil.av_rescale_q(start, micro, base);
    }

    /** Packets of the picture other than these (ascending, counted from 0) are not decoded. For all-intra codecs. */
    void decodeOnly(long[] packets) {
        onlyThese = packets;
    }

    /** The next frame of the picture into {@code frame}; false after the last. */
    boolean receive(AVFrame frame, Consumer<AVPacket> others) {
        while (true) {
            int code = avcodec.avcodec_receive_frame(decoder, frame);
            if (code >= 0) {
                return true;
            }
            if (code == avutil.AVERROR_EOF) {
                ended = true;
                return false;
            }
            if (code != avutil.AVERROR_EAGAIN()) {
                corruptPackets++;
                if (draining) {
                    continue;
                }
            }
            feed(others);
        }
    }

    private void feed(Consumer<AVPacket> others) {
        int code = draining ? avutil.AVERROR_EOF : avformat.av_read_frame(format, packet);
        if (code < 0) {
            if (!draining) {
                endedByError = code != avutil.AVERROR_EOF;
                draining = true;
            }
            avcodec.avcodec_send_packet(decoder, null);
            return;
        }
        noteTime();
        if (packet.stream_index() != stream.index()) {
            others.accept(packet);
        } else if (isWanted()) {
            if ((packet.flags() & avcodec.AV_PKT_FLAG_CORRUPT) != 0) {
                corruptPackets++;
            }
            int sent = avcodec.avcodec_send_packet(decoder, packet);
            if (sent < 0 && sent != avutil.AVERROR_EAGAIN()) {
                corruptPackets++;
            }
        }
        avcodec.av_packet_unref(packet);
    }

    private void noteTime() {
        long pts = packet.pts();
        if (pts != avutil.AV_NOPTS_VALUE) {
            AVRational base = format.streams(packet.stream_index()).time_base();
            double start = format.start_time() == avutil.AV_NOPTS_VALUE ? 0 : format.start_time() / 1e6;
            lastEnd = Math.max(lastEnd, (double) (pts + packet.duration()) * base.num() / base.den() - start);
        }
    }

    private boolean isWanted() {
        long number = videoPackets++;
        if (onlyThese == null) {
            return true;
        }
        if (nextOfThese < onlyThese.length && onlyThese[nextOfThese] == number) {
            nextOfThese++;
            return true;
        }
        return false;
    }

    long countPackets() {
        long count = 0;
        while (avformat.av_read_frame(format, packet) >= 0) {
            noteTime();
            if (packet.stream_index() == stream.index()) {
                count++;
            }
            avcodec.av_packet_unref(packet);
        }
        return count;
    }

    @Override
    public void close() {
        if (decoder != null) {
            avcodec.avcodec_free_context(decoder);
            decoder = null;
        }
        avcodec.av_packet_free(packet);
        avformat.avformat_close_input(format);
    }
}
