// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.nio.file.Path;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.concurrent.ConcurrentLinkedDeque;
import java.util.concurrent.ConcurrentLinkedQueue;
import org.bytedeco.ffmpeg.avcodec.AVCodec;
import org.bytedeco.ffmpeg.avcodec.AVCodecContext;
import org.bytedeco.ffmpeg.avcodec.AVCodecParameters;
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
import org.bytedeco.javacpp.IntPointer;
import org.bytedeco.javacpp.PointerPointer;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.LumaStandard;

/**
 * Encodes planar frames into a clip. The file gets its name when {@link #finish} has brought it to the disk; {@link #close} before
 * that leaves nothing behind.
 *
 * <p>Of a source clip it keeps: colour tags, pixel aspect, frame times, field order, rotation, timecode, the container's general
 * metadata, and every audio track by copying its packets where the container takes them; {@link #notes} says what it could not keep.
 *
 * <p>Frames are lent from a pool, filled, and written in order. {@link #lend} and {@link #write} may be called by two threads;
 * {@link #copyPacket} by any.
 */
public final class ClipWriter implements AutoCloseable {
    /** FFmpeg counts the system's error numbers downwards; ENOSPC is 28 on Linux, macOS and Windows. */
    static final int NO_SPACE = -28;

    private final Path target;
    private final OutputCodec codec;
    private final PictureShape shape;
    private final PendingFile file;
    private final AVFormatContext format;
    private final AVRational timeBase;
    private final AVRational encoderRate;
    private final long frameDuration;
    private final List<String> notes = new ArrayList<>();
    private final Map<Integer, CopiedTrack> tracks = new HashMap<>();
    private final ConcurrentLinkedQueue<AVPacket> waiting = new ConcurrentLinkedQueue<>();
    /** Those given back last come first: their memory is the likeliest to be near. */
    private final ConcurrentLinkedDeque<EncodedFrame> free = new ConcurrentLinkedDeque<>();
    private final List<EncodedFrame> allFrames = new ArrayList<>();
    private final AVPacket packet = avcodec.av_packet_alloc();
    private AVCodecContext encoder;
    private AVStream stream;
    private long lastTime = Long.MIN_VALUE;
    private long framesWritten;
    private boolean closed;

    private record CopiedTrack(AVStream from, AVStream to, long start) {
    }

    /** A frame to be filled: a view of the encoder's input. */
    public static final class EncodedFrame {
        private final AVFrame av;
        private final PlanarFrame picture;
        /** Whose memory it is; null for the pool's. */
        private final DecodedFrame decoded;

        private EncodedFrame(AVFrame av, PlanarFrame picture, DecodedFrame decoded) {
            this.av = av;
            this.picture = picture;
            this.decoded = decoded;
        }

        /** Codes to be encoded; every one must be written, within the video range in narrow range. */
        public PlanarFrame picture() {
            return picture;
        }
    }

    /** A writer for frames that were made, not read: no audio, constant rate. */
    public static ClipWriter create(Path target, OutputCodec codec, PictureShape shape, int rateNumerator, int rateDenominator,
                                    ClipInfo.ColourTags colour, boolean overwrite) {
        Libav.load();
        ClipWriter writer = new ClipWriter(target, codec, shape, Libav.rational(rateDenominator, rateNumerator), rateNumerator,
            rateDenominator, overwrite);
        writer.start(colour, null);
        return writer;
    }

    /** A writer for the frames of a source clip. The reader's other packets go to this writer from now on. */
    public static ClipWriter create(Path target, OutputCodec codec, ClipReader source, boolean overwrite) {
        ClipInfo info = source.info();
        PictureShape shape = codec.encodedShape(info.shape());
        AVRational base = source.videoStream().time_base();
        ClipWriter writer = new ClipWriter(target, codec, shape, Libav.rational(base.num(), base.den()), info.rateNumerator(),
            info.rateDenominator(), overwrite);
        writer.start(info.colour(), source);
        source.onOtherPackets(writer::copyPacket);
        return writer;
    }

    private ClipWriter(Path target, OutputCodec codec, PictureShape shape, AVRational timeBase, int rateNumerator, int rateDenominator,
                       boolean overwrite) {
        this.target = target;
        this.codec = codec;
        this.shape = shape;
        this.timeBase = timeBase;
        file = new PendingFile(target, overwrite);
        format = new AVFormatContext(null);
        int rate = rateNumerator > 0 ? rateNumerator : 25;
        int perRate = rateNumerator > 0 ? rateDenominator : 1;
        frameDuration = Math.max(1, avutil.av_rescale_q(1, Libav.rational(perRate, rate), timeBase));
        encoderRate = Libav.rational(rate, perRate);
    }

    private void start(ClipInfo.ColourTags colour, ClipReader source) {
        try {
            String url = Libav.url(file.path());
            Libav.check(avformat.avformat_alloc_output_context2(format, null, codec.muxer(), url), target + ": container " + codec.muxer());
            openEncoder(colour, source);
            addVideoStream(source);
            if (source != null) {
                copyGeneralMetadata(source);
                addAudio(source);
            }
            AVIOContext io = new AVIOContext(null);
            Libav.check(avformat.avio_open(io, url, avformat.AVIO_FLAG_WRITE), target + ": cannot be written");
            format.pb(io);
            AVDictionary options = new AVDictionary(null);
            int code = avformat.avformat_write_header(format, options);
            avutil.av_dict_free(options);
            if (code < 0) {
                throw headerRefused(target, codec, code, io.error());
            }
        } catch (RuntimeException failed) {
            close();
            throw failed;
        }
    }

    /** @param writeError what the file's writer met, an FFmpeg error number; 0 when it was the container that refused */
    static InputException headerRefused(Path target, OutputCodec codec, int code, int writeError) {
        if (writeError < 0 || code == NO_SPACE) {
            return new InputException(target + ": the start of the file cannot be written (" + Libav.describe(writeError < 0 ? writeError : code)
                + "); make room or give another folder with --out");
        }
        return new InputException(target + ": the " + codec.extension() + " container does not take these tracks: " + Libav.describe(code));
    }

    private void openEncoder(ClipInfo.ColourTags colour, ClipReader source) {
        AVCodec av = avcodec.avcodec_find_encoder_by_name(codec.encoder(shape.width()));
        if (av == null || av.isNull()) {
            throw new InputException("--codec " + codec.label() + ": the bundled FFmpeg has no encoder " + codec.encoder(shape.width()) + "; choose another");
        }
        encoder = avcodec.avcodec_alloc_context3(av);
        encoder.width(shape.width());
        encoder.height(shape.height());
        encoder.pix_fmt(pixelFormat(shape));
        encoder.time_base(timeBase);
        encoder.framerate(encoderRate);
        encoder.bits_per_raw_sample(shape.depth().bits());
        encoder.thread_count(Libav.threads());
        encoder.color_range(shape.fullRange() ? avutil.AVCOL_RANGE_JPEG : avutil.AVCOL_RANGE_MPEG);
        encoder.color_primaries(colour.primaries());
        encoder.color_trc(colour.transfer());
        encoder.colorspace(colour.matrix() == avutil.AVCOL_SPC_RGB ? matrixTag(shape.standard()) : colour.matrix());
        encoder.chroma_sample_location(chromaLocation(shape));
        if (source != null) {
            encoder.sample_aspect_ratio(source.videoStream().sample_aspect_ratio());
            if (source.info().interlaced()) {
                encoder.flags(encoder.flags() | avcodec.AV_CODEC_FLAG_INTERLACED_DCT);
                encoder.field_order(source.videoStream().codecpar().field_order());
            }
        }
        if ((format.oformat().flags() & avformat.AVFMT_GLOBALHEADER) != 0) {
            encoder.flags(encoder.flags() | avcodec.AV_CODEC_FLAG_GLOBAL_HEADER);
        }
        switch (codec) {
            case PRORES_HQ, PRORES_4444 -> {
                // prores_aw reads the field; prores_ks reads its own option, which the other may lack.
                int profile = codec == OutputCodec.PRORES_HQ ? avcodec.AV_PROFILE_PRORES_HQ : avcodec.AV_PROFILE_PRORES_4444;
                encoder.profile(profile);
                avutil.av_opt_set(encoder.priv_data(), "profile", Integer.toString(profile), 0);
            }
            case DNXHR_HQX -> set("profile", "dnxhr_hqx");
            case FFV1 -> {
                encoder.level(3);
                encoder.gop_size(1);
                if (shape.width() <= 352 && shape.height() <= 288) {
                    // Its own choice of slices fails on pictures of a few pixels.
                    encoder.slices(1);
                }
                set("slicecrc", "1");
            }
        }
        int code = avcodec.avcodec_open2(encoder, av, (AVDictionary) null);
        if (code < 0) {
            throw new InputException(target + ": codec " + codec.label() + " does not take a picture of " + shape.width() + "x" + shape.height()
                + " (" + Libav.describe(code) + "); --codec ffv1 takes any size");
        }
    }

    private void set(String option, String value) {
        Libav.check(avutil.av_opt_set(encoder.priv_data(), option, value, 0), "encoder option " + option + "=" + value);
    }

    static int pixelFormat(PictureShape shape) {
        String name = switch (shape.sampling()) {
            case S420 -> "yuv420p";
            case S422 -> "yuv422p";
            case S444 -> "yuv444p";
        };
        return avutil.av_get_pix_fmt(shape.depth().bits() == 8 ? name : name + shape.depth().bits());
    }

    private static int matrixTag(LumaStandard standard) {
        return switch (standard) {
            case BT601 -> avutil.AVCOL_SPC_SMPTE170M;
            case BT709 -> avutil.AVCOL_SPC_BT709;
            case BT2020 -> avutil.AVCOL_SPC_BT2020_NCL;
        };
    }

    private static int chromaLocation(PictureShape shape) {
        if (shape.sampling().shiftX() == 0) {
            return avutil.AVCHROMA_LOC_UNSPECIFIED;
        }
        if (shape.chromaCosited()) {
            return shape.sampling().shiftY() == 1 && shape.chromaTop() ? avutil.AVCHROMA_LOC_TOPLEFT : avutil.AVCHROMA_LOC_LEFT;
        }
        return shape.sampling().shiftY() == 1 && shape.chromaTop() ? avutil.AVCHROMA_LOC_TOP : avutil.AVCHROMA_LOC_CENTER;
    }

    private void addVideoStream(ClipReader source) {
        stream = avformat.avformat_new_stream(format, null);
        Libav.check(avcodec.avcodec_parameters_from_context(stream.codecpar(), encoder), target + ": video track");
        stream.time_base(timeBase);
        stream.avg_frame_rate(encoderRate);
        if (source == null) {
            return;
        }
        stream.sample_aspect_ratio(source.videoStream().sample_aspect_ratio());
        copyRotation(source.videoStream().codecpar());
        if (!source.info().timecode().isEmpty()) {
            AVDictionary metadata = stream.metadata() == null ? new AVDictionary(null) : stream.metadata();
            avutil.av_dict_set(metadata, "timecode", source.info().timecode(), 0);
            stream.metadata(metadata);
        }
    }

    private void copyRotation(AVCodecParameters from) {
        AVPacketSideData data = avcodec.av_packet_side_data_get(from.coded_side_data(), from.nb_coded_side_data(),
            avcodec.AV_PKT_DATA_DISPLAYMATRIX);
        if (data == null || data.isNull()) {
            return;
        }
        AVCodecParameters to = stream.codecpar();
        try (PointerPointer<AVPacketSideData> list = new PointerPointer<>(1L); IntPointer count = new IntPointer(1)) {
            list.put(0, to.coded_side_data());
            count.put(0, to.nb_coded_side_data());
            AVPacketSideData copy = avcodec.av_packet_side_data_new(list, count, avcodec.AV_PKT_DATA_DISPLAYMATRIX, data.size(), 0);
            if (copy == null || copy.isNull()) {
                throw new InputException(target + ": no memory for the rotation tag");
            }
            org.bytedeco.javacpp.Pointer.memcpy(copy.data(), data.data(), data.size());
            to.coded_side_data(list.get(AVPacketSideData.class, 0));
            to.nb_coded_side_data(count.get(0));
        }
    }

    private void copyGeneralMetadata(ClipReader source) {
        AVDictionary copy = new AVDictionary(null);
        avutil.av_dict_copy(copy, source.container().metadata(), 0);
        // These describe the source's own file, not its content.
        for (String key : List.of("major_brand", "minor_version", "compatible_brands", "encoder", "timecode", "DURATION")) {
            avutil.av_dict_set(copy, key, null, 0);
        }
        format.metadata(copy);
    }

    private void addAudio(ClipReader source) {
        int left = 0;
        for (ClipInfo.AudioTrack track : source.info().audio()) {
            AVStream from = source.container().streams(track.stream());
            if (avformat.avformat_query_codec(format.oformat(), from.codecpar().codec_id(), avcodec.FF_COMPLIANCE_NORMAL) != 1) {
                notes.add("audio track " + (left + 1) + " (" + track.codec() + ") is left out: ." + codec.extension()
                    + " does not take it as it is" + (codec == OutputCodec.FFV1 ? "" : "; --codec ffv1 writes .mkv, which takes more"));
                left++;
                continue;
            }
            left++;
            AVStream to = avformat.avformat_new_stream(format, null);
            Libav.check(avcodec.avcodec_parameters_copy(to.codecpar(), from.codecpar()), target + ": audio track");
            to.codecpar().codec_tag(0);
            to.time_base(from.time_base());
            to.disposition(from.disposition());
            if (!track.language().isEmpty()) {
                AVDictionary metadata = new AVDictionary(null);
                avutil.av_dict_set(metadata, "language", track.language(), 0);
                to.metadata(metadata);
            }
            long start = avutil.av_rescale_q(source.startMicroseconds(), Libav.rational(1, 1_000_000), from.time_base());
            tracks.put(track.stream(), new CopiedTrack(from, to, start));
        }
        if (source.info().otherTracks() > 0) {
            notes.add(source.info().otherTracks() + " subtitle or data tracks are left out");
        }
    }

    /** What could not be kept, one sentence each. */
    public List<String> notes() {
        return List.copyOf(notes);
    }

    /** Shape of the frames to be written. */
    public PictureShape shape() {
        return shape;
    }

    /** A frame nobody else holds: from the pool, or new while the encoder keeps all of them. */
    public EncodedFrame lend() {
        for (EncodedFrame frame : free) {
            if (avutil.av_frame_is_writable(frame.av) != 0) {
                free.remove(frame);
                return frame;
            }
        }
        AVFrame av = avutil.av_frame_alloc();
        av.format(encoder.pix_fmt());
        av.width(shape.width());
        av.height(shape.height());
        Libav.check(avutil.av_frame_get_buffer(av, 0), target + ": no memory for a frame");
        EncodedFrame frame = new EncodedFrame(av, PixelLayout.view(av, shape), null);
        synchronized (allFrames) {
            allFrames.add(frame);
        }
        return frame;
    }

    /**
     * A decoded frame as the frame to be filled, which saves the memory and time of a second one. It is released when it is given back or written.
     *
     * @return null when it has not the shape of the frames to be written, or the decoder still reads it
     */
    public EncodedFrame adopt(DecodedFrame frame) {
        return isOfOurShape(frame) && frame.isOurs() ? new EncodedFrame(frame.av, frame.picture(), frame) : null;
    }

    private boolean isOfOurShape(DecodedFrame frame) {
        return frame.av.width() == shape.width() && frame.av.height() == shape.height() && frame.av.format() == encoder.pix_fmt();
    }

    /** Gives back a frame, written or not. */
    public void takeBack(EncodedFrame frame) {
        if (frame.decoded != null) {
            frame.decoded.release();
        } else {
            free.addFirst(frame);
        }
    }

    /** Encodes a frame of a writer without source: the n-th written lies n frame durations after the start. */
    public void write(EncodedFrame frame) {
        write(frame, framesWritten * frameDuration, frameDuration, false, false);
    }

    /** Encodes a frame with the time and field order of the source's frame. */
    public void write(EncodedFrame frame, DecodedFrameTimes times) {
        write(frame, times.timestamp(), times.duration() > 0 ? times.duration() : frameDuration, times.interlaced(), times.topFieldFirst());
    }

    /**
     * Encodes a decoded frame, of this or another clip, where it lies and as it is; it may be released afterwards.
     *
     * @throws IllegalArgumentException when it has not the shape of the frames to be written
     */
    public void write(DecodedFrame frame, DecodedFrameTimes times) {
        if (!isOfOurShape(frame)) {
            throw new IllegalArgumentException("a frame of " + PictureShape.of(frame.picture()) + " is not what is encoded, " + shape);
        }
        encode(frame.av, times.timestamp(), times.duration() > 0 ? times.duration() : frameDuration, times.interlaced(), times.topFieldFirst());
    }

    private void write(EncodedFrame frame, long timestamp, long duration, boolean interlaced, boolean topFieldFirst) {
        encode(frame.av, timestamp, duration, interlaced, topFieldFirst);
        takeBack(frame);
    }

    private void encode(AVFrame av, long timestamp, long duration, boolean interlaced, boolean topFieldFirst) {
        writeWaitingPackets();
        lastTime = Math.max(timestamp, lastTime == Long.MIN_VALUE ? timestamp : lastTime + 1);
        av.pts(lastTime);
        av.duration(duration);
        av.flags(interlaced ? Libav.FRAME_INTERLACED | (topFieldFirst ? Libav.FRAME_TOP_FIELD_FIRST : 0) : 0);
        av.color_range(encoder.color_range());
        av.colorspace(encoder.colorspace());
        av.color_primaries(encoder.color_primaries());
        av.color_trc(encoder.color_trc());
        av.chroma_location(encoder.chroma_sample_location());
        av.sample_aspect_ratio(encoder.sample_aspect_ratio());
        Libav.check(avcodec.avcodec_send_frame(encoder, av), target + ": frame " + framesWritten + " cannot be encoded");
        framesWritten++;
        drain();
    }

    private void drain() {
        while (true) {
            int code = avcodec.avcodec_receive_packet(encoder, packet);
            if (code == avutil.AVERROR_EAGAIN() || code == avutil.AVERROR_EOF) {
                return;
            }
            Libav.check(code, target + ": encoding failed after " + framesWritten + " frames");
            packet.stream_index(stream.index());
            avcodec.av_packet_rescale_ts(packet, timeBase, stream.time_base());
            mux(packet);
        }
    }

    private void mux(AVPacket full) {
        int code = avformat.av_interleaved_write_frame(format, full);
        if (code < 0) {
            throw new InputException(target + ": writing failed after " + framesWritten + " frames (" + Libav.describe(code)
                + "); make room or give another folder with --out");
        }
    }

    /** Takes a copy of a packet of the source's other tracks; it is written between the frames. */
    void copyPacket(AVPacket from) {
        if (tracks.containsKey(from.stream_index())) {
            waiting.add(avcodec.av_packet_clone(from));
        }
    }

    private void writeWaitingPackets() {
        for (AVPacket next = waiting.poll(); next != null; next = waiting.poll()) {
            CopiedTrack track = tracks.get(next.stream_index());
            if (next.pts() != avutil.AV_NOPTS_VALUE) {
                next.pts(next.pts() - track.start());
            }
            if (next.dts() != avutil.AV_NOPTS_VALUE) {
                next.dts(next.dts() - track.start());
            }
            next.stream_index(track.to().index());
            next.pos(-1);
            avcodec.av_packet_rescale_ts(next, track.from().time_base(), track.to().time_base());
            try {
                mux(next);
            } finally {
                avcodec.av_packet_free(next);
            }
        }
    }

    public long framesWritten() {
        return framesWritten;
    }

    /** Ends the clip and gives the file its name. */
    public void finish() {
        if (framesWritten == 0) {
            throw new InputException(target + ": no frame was written; nothing was left there");
        }
        writeWaitingPackets();
        Libav.check(avcodec.avcodec_send_frame(encoder, null), target + ": the encoder does not end");
        drain();
        int code = avformat.av_write_trailer(format);
        if (code >= 0) {
            avformat.avio_flush(format.pb());
            code = format.pb().error();
        }
        int closing = avformat.avio_closep(format.pb());
        format.pb(null);
        if (code < 0 || closing < 0) {
            throw new InputException(target + ": the end of the file cannot be written (" + Libav.describe(Math.min(code, closing))
                + "); make room or give another folder with --out");
        }
        file.commit();
    }

    /** Frees everything; removes the file when {@link #finish} did not succeed. */
    @Override
    public void close() {
        if (closed) {
            return;
        }
        closed = true;
        for (AVPacket left = waiting.poll(); left != null; left = waiting.poll()) {
            avcodec.av_packet_free(left);
        }
        if (encoder != null) {
            avcodec.avcodec_free_context(encoder);
        }
        for (EncodedFrame frame : allFrames) {
            avutil.av_frame_free(frame.av);
        }
        avcodec.av_packet_free(packet);
        if (!format.isNull()) {
            if (format.pb() != null && !format.pb().isNull()) {
                avformat.avio_closep(format.pb());
                format.pb(null);
            }
            avformat.avformat_free_context(format);
        }
        file.close();
    }
}
