// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.nio.ByteBuffer;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import org.bytedeco.ffmpeg.avcodec.AVCodec;
import org.bytedeco.ffmpeg.avcodec.AVCodecContext;
import org.bytedeco.ffmpeg.avcodec.AVPacket;
import org.bytedeco.ffmpeg.avcodec.AVPacketSideData;
import org.bytedeco.ffmpeg.avformat.AVFormatContext;
import org.bytedeco.ffmpeg.avformat.AVIOContext;
import org.bytedeco.ffmpeg.avformat.AVStream;
import org.bytedeco.ffmpeg.avutil.AVDictionary;
import org.bytedeco.ffmpeg.avutil.AVFrame;
import org.bytedeco.ffmpeg.avutil.AVRational;
import org.bytedeco.ffmpeg.global.avcodec;
import org.bytedeco.ffmpeg.global.avformat;
import org.bytedeco.ffmpeg.global.avutil;
import org.bytedeco.javacpp.BytePointer;
import org.bytedeco.javacpp.IntPointer;
import org.bytedeco.javacpp.PointerPointer;

/**
 * Source clips for tests, written with FFmpeg itself and not with our writer, so that reader and writer are tested against
 * another hand. Only what a test sets is tagged.
 */
public final class TestClip {
    /** Writes code values of a frame. Planes and sizes are those of the pixel format. */
    public interface Painter {
        int code(int frame, int plane, int x, int y);
    }

    private String encoder = "ffv1";
    private String muxer = "matroska";
    private String pixelFormat = "yuv420p";
    private int width = 64;
    private int height = 48;
    private int frames = 10;
    private int range = avutil.AVCOL_RANGE_MPEG;
    private int matrix = avutil.AVCOL_SPC_BT709;
    private int transfer = avutil.AVCOL_TRC_UNSPECIFIED;
    private int chromaLocation = avutil.AVCHROMA_LOC_LEFT;
    private int audioTracks;
    private String audioCodec = "pcm_s16le";
    private int rotation;
    private String timecode = "";
    private long[] times;
    private boolean video = true;
    private boolean faststart;
    private boolean interlaced;
    private Painter painter = (frame, plane, x, y) -> plane == 0 ? 40 + (x + y + frame) % 160 : 108 + (x + 2 * y + frame) % 40;

    public static TestClip make() {
        Libav.load();
        return new TestClip();
    }

    public TestClip codec(String name) {
        encoder = name;
        return this;
    }

    /** FFmpeg's muxer name: mov, mp4, matroska, avi, mpeg, wav. */
    public TestClip container(String name) {
        muxer = name;
        return this;
    }

    public TestClip format(String name) {
        pixelFormat = name;
        return this;
    }

    public TestClip size(int w, int h) {
        width = w;
        height = h;
        return this;
    }

    public TestClip frames(int count) {
        frames = count;
        return this;
    }

    public TestClip fullRange() {
        range = avutil.AVCOL_RANGE_JPEG;
        return this;
    }

    public TestClip matrix(int tag) {
        matrix = tag;
        return this;
    }

    /** A tag of its own; without it that of the matrix. */
    public TestClip transfer(int tag) {
        transfer = tag;
        return this;
    }

    public TestClip chromaLocation(int tag) {
        chromaLocation = tag;
        return this;
    }

    public TestClip audio(int tracks) {
        audioTracks = tracks;
        return this;
    }

    /** Degrees clockwise. */
    public TestClip rotation(int clockwise) {
        rotation = clockwise;
        return this;
    }

    public TestClip timecode(String start) {
        timecode = start;
        return this;
    }

    /** Presentation times of the frames in milliseconds. */
    public TestClip times(long... milliseconds) {
        times = milliseconds;
        frames = milliseconds.length;
        return this;
    }

    public TestClip withoutVideo() {
        video = false;
        return this;
    }

    /** Index at the front, so that a cut file can still be opened. */
    public TestClip indexFirst() {
        faststart = true;
        return this;
    }

    public TestClip interlaced() {
        interlaced = true;
        return this;
    }

    public TestClip paint(Painter p) {
        painter = p;
        return this;
    }

    /** A ramp of every video code from 4 to 1019, twice, at 10 bit: each code in a column of its own. */
    public static TestClip ramp10() {
        return make().format("yuv422p10").size(2032, 16).frames(3)
            .paint((frame, plane, x, y) -> plane == 0 ? 4 + x % 1016 : 512);
    }

    public Path write(Path path) {
        AVFormatContext format = new AVFormatContext(null);
        Libav.check(avformat.avformat_alloc_output_context2(format, null, muxer, Libav.url(path)), "test clip container " + muxer);
        AVCodecContext coder = video ? openVideo(format) : null;
        AVStream stream = video ? addVideo(format, coder) : null;
        List<AVStream> sound = new ArrayList<>();
        for (int i = 0; i < audioTracks; i++) {
            sound.add(addAudio(format, i));
        }
        AVIOContext io = new AVIOContext(null);
        Libav.check(avformat.avio_open(io, Libav.url(path), avformat.AVIO_FLAG_WRITE), "test clip " + path);
        format.pb(io);
        AVDictionary options = new AVDictionary(null);
        if (faststart) {
            avutil.av_dict_set(options, "movflags", "faststart", 0);
        }
        Libav.check(avformat.avformat_write_header(format, options), "test clip header");
        avutil.av_dict_free(options);
        AVPacket packet = avcodec.av_packet_alloc();
        for (int f = 0; f < frames; f++) {
            for (int i = 0; i < sound.size(); i++) {
                writeAudio(format, sound.get(i), f, i, packet);
            }
            if (video) {
                AVFrame frame = paintFrame(coder, f);
                Libav.check(avcodec.avcodec_send_frame(coder, frame), "test clip frame " + f);
                avutil.av_frame_free(frame);
                drain(format, coder, stream, packet);
            }
        }
        if (video) {
            avcodec.avcodec_send_frame(coder, null);
            drain(format, coder, stream, packet);
            avcodec.avcodec_free_context(coder);
        }
        Libav.check(avformat.av_write_trailer(format), "test clip trailer");
        avcodec.av_packet_free(packet);
        avformat.avio_closep(format.pb());
        format.pb(null);
        avformat.avformat_free_context(format);
        return path;
    }

    private AVCodecContext openVideo(AVFormatContext format) {
        AVCodec codec = avcodec.avcodec_find_encoder_by_name(encoder);
        AVCodecContext coder = avcodec.avcodec_alloc_context3(codec);
        coder.width(width);
        coder.height(height);
        coder.pix_fmt(avutil.av_get_pix_fmt(pixelFormat));
        coder.time_base(times == null ? rational(1, 25) : rational(1, 1000));
        coder.framerate(rational(25, 1));
        coder.color_range(range);
        coder.colorspace(matrix);
        coder.color_primaries(matrix == avutil.AVCOL_SPC_BT709 ? avutil.AVCOL_PRI_BT709 : avutil.AVCOL_PRI_UNSPECIFIED);
        coder.color_trc(transfer != avutil.AVCOL_TRC_UNSPECIFIED ? transfer : matrix == avutil.AVCOL_SPC_BT709 ? avutil.AVCOL_TRC_BT709 : avutil.AVCOL_TRC_UNSPECIFIED);
        coder.chroma_sample_location(chromaLocation);
        coder.thread_count(1);
        coder.strict_std_compliance(-1);
        coder.bit_rate(8_000_000);
        coder.gop_size(encoder.equals("ffv1") ? 1 : 12);
        if (interlaced) {
            coder.field_order(avcodec.AV_FIELD_TT);
            coder.flags(coder.flags() | avcodec.AV_CODEC_FLAG_INTERLACED_DCT);
        }
        if (encoder.equals("mjpeg")) {
            coder.flags(coder.flags() | avcodec.AV_CODEC_FLAG_QSCALE);
            coder.global_quality(2 * avutil.FF_QP2LAMBDA);
        }
        if ((format.oformat().flags() & avformat.AVFMT_GLOBALHEADER) != 0) {
            coder.flags(coder.flags() | avcodec.AV_CODEC_FLAG_GLOBAL_HEADER);
        }
        Libav.check(avcodec.avcodec_open2(coder, codec, (AVDictionary) null), "test clip encoder " + encoder);
        return coder;
    }

    private AVStream addVideo(AVFormatContext format, AVCodecContext coder) {
        AVStream stream = avformat.avformat_new_stream(format, null);
        avcodec.avcodec_parameters_from_context(stream.codecpar(), coder);
        stream.time_base(coder.time_base());
        if (times == null) {
            stream.avg_frame_rate(rational(25, 1));
        }
        if (rotation != 0) {
            try (PointerPointer<AVPacketSideData> list = new PointerPointer<>(1L); IntPointer count = new IntPointer(1)) {
                list.put(0, stream.codecpar().coded_side_data());
                count.put(0, stream.codecpar().nb_coded_side_data());
                AVPacketSideData data = avcodec.av_packet_side_data_new(list, count, avcodec.AV_PKT_DATA_DISPLAYMATRIX, 36, 0);
                avutil.av_display_rotation_set(new IntPointer(data.data()), rotation);
                stream.codecpar().coded_side_data(list.get(AVPacketSideData.class, 0));
                stream.codecpar().nb_coded_side_data(count.get(0));
            }
        }
        if (!timecode.isEmpty()) {
            AVDictionary metadata = new AVDictionary(null);
            avutil.av_dict_set(metadata, "timecode", timecode, 0);
            stream.metadata(metadata);
        }
        return stream;
    }

    private AVStream addAudio(AVFormatContext format, int track) {
        AVStream stream = avformat.avformat_new_stream(format, null);
        stream.codecpar().codec_type(avutil.AVMEDIA_TYPE_AUDIO);
        stream.codecpar().codec_id(avcodec.avcodec_find_encoder_by_name(audioCodec).id());
        stream.codecpar().sample_rate(48000);
        stream.codecpar().format(avutil.AV_SAMPLE_FMT_S16);
        stream.codecpar().bits_per_coded_sample(16);
        stream.codecpar().block_align(2);
        stream.codecpar().bit_rate(768000);
        avutil.av_channel_layout_default(stream.codecpar().ch_layout(), 1);
        stream.time_base(rational(1, 48000));
        AVDictionary metadata = new AVDictionary(null);
        avutil.av_dict_set(metadata, "language", track == 0 ? "eng" : "ger", 0);
        stream.metadata(metadata);
        return stream;
    }

    private static void writeAudio(AVFormatContext format, AVStream stream, int f, int track, AVPacket packet) {
        int samples = 1920;
        avcodec.av_new_packet(packet, 2 * samples);
        ByteBuffer bytes = packet.data().capacity(2 * samples).asByteBuffer().order(java.nio.ByteOrder.LITTLE_ENDIAN);
        for (int i = 0; i < samples; i++) {
            bytes.putShort(2 * i, (short) (1000 * track + (f * samples + i) % 997));
        }
        packet.pts((long) f * samples);
        packet.dts((long) f * samples);
        packet.duration(samples);
        packet.flags(avcodec.AV_PKT_FLAG_KEY);
        packet.stream_index(stream.index());
        avcodec.av_packet_rescale_ts(packet, rational(1, 48000), stream.time_base());
        Libav.check(avformat.av_interleaved_write_frame(format, packet), "test clip sound");
    }

    private AVFrame paintFrame(AVCodecContext coder, int f) {
        AVFrame frame = avutil.av_frame_alloc();
        frame.format(coder.pix_fmt());
        frame.width(width);
        frame.height(height);
        Libav.check(avutil.av_frame_get_buffer(frame, 0), "test clip memory");
        PixelLayout layout = PixelLayout.of(coder.pix_fmt(), "test clip");
        boolean wide = layout.sourceBits() > 8;
        boolean grey = layout.kind() == PixelLayout.Kind.GREY;
        boolean packedRgb = layout.isRgb();
        for (int plane = 0; plane < (grey || packedRgb ? 1 : 3); plane++) {
            int w = plane == 0 ? width : layout.sampling().chromaWidth(width);
            int h = plane == 0 ? height : layout.sampling().chromaHeight(height);
            int channels = packedRgb ? 3 : 1;
            BytePointer data = frame.data(plane).capacity((long) h * frame.linesize(plane));
            ByteBuffer bytes = data.asByteBuffer().order(java.nio.ByteOrder.nativeOrder());
            for (int y = 0; y < h; y++) {
                for (int x = 0; x < w * channels; x++) {
                    int code = packedRgb ? painter.code(f, x % 3, x / 3, y) : painter.code(f, plane, x, y);
                    if (wide) {
                        bytes.putShort(y * frame.linesize(plane) + 2 * x, (short) code);
                    } else {
                        bytes.put(y * frame.linesize(plane) + x, (byte) code);
                    }
                }
            }
        }
        frame.pts(times == null ? f : times[f]);
        frame.color_range(range);
        frame.colorspace(matrix);
        frame.chroma_location(chromaLocation);
        frame.flags(interlaced ? Libav.FRAME_INTERLACED | Libav.FRAME_TOP_FIELD_FIRST : 0);
        frame.quality(coder.global_quality());
        return frame;
    }

    private static void drain(AVFormatContext format, AVCodecContext coder, AVStream stream, AVPacket packet) {
        while (avcodec.avcodec_receive_packet(coder, packet) >= 0) {
            packet.stream_index(stream.index());
            if (packet.duration() == 0) {
                packet.duration(coder.time_base().den() == 25 ? 1 : 40);
            }
            avcodec.av_packet_rescale_ts(packet, coder.time_base(), stream.time_base());
            Libav.check(avformat.av_interleaved_write_frame(format, packet), "test clip packet");
        }
    }

    private static AVRational rational(int num, int den) {
        return Libav.rational(num, den);
    }
}
