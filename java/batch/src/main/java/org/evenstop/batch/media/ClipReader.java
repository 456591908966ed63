// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.nio.file.Files;
import java.nio.file.InvalidPathException;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.concurrent.ConcurrentLinkedQueue;
import java.util.function.Consumer;
import org.bytedeco.ffmpeg.avcodec.AVCodecDescriptor;
import org.bytedeco.ffmpeg.avcodec.AVCodecParameters;
import org.bytedeco.ffmpeg.avcodec.AVPacket;
import org.bytedeco.ffmpeg.avcodec.AVPacketSideData;
import org.bytedeco.ffmpeg.avformat.AVFormatContext;
import org.bytedeco.ffmpeg.avformat.AVIndexEntry;
import org.bytedeco.ffmpeg.avformat.AVStream;
import org.bytedeco.ffmpeg.avutil.AVFrame;
import org.bytedeco.ffmpeg.avutil.AVRational;
import org.bytedeco.ffmpeg.global.avcodec;
import org.bytedeco.ffmpeg.global.avformat;
import org.bytedeco.ffmpeg.global.avutil;
import org.bytedeco.javacpp.IntPointer;
import org.evenstop.engine.InputException;
import org.evenstop.engine.level.LumaStandard;

/**
 * Reads the picture of a clip, frame by frame from the start. Never seeks: many long-GOP clips give other frames after a seek.
 *
 * <p>Opening decodes the first frame, so a clip without one is refused at once and the description is that of real frames.
 * One thread at a time; frames handed out may be released from any thread.
 */
public final class ClipReader implements AutoCloseable {
    private static final int HD_HEIGHT = 720;

    private final Path path;
    private final DecodingPass pass;
    private final PixelLayout layout;
    private final ClipInfo info;
    private final boolean sourceFullRange;
    private final long startTime;
    private final ConcurrentLinkedQueue<DecodedFrame> free = new ConcurrentLinkedQueue<>();
    private final List<DecodedFrame> allFrames = new ArrayList<>();
    private final DecodedFrame first;
    private boolean firstPending;
    private boolean endsEarly;
    private long framesRead;
    private long damagedFrames;
    private final List<AVPacket> early = new ArrayList<>();
    private Consumer<AVPacket> otherPackets = packet -> early.add(avcodec.av_packet_clone(packet));
    private boolean closed;

    private ClipReader(Path path) {
        this.path = path;
        String clip = path.toString();
        pass = new DecodingPass(path);
        try {
            first = new DecodedFrame(this);
            allFrames.add(first);
            if (!pass.receive(first.av, otherPackets)) {
                throw new InputException(clip + ": holds no frame that can be decoded"
                    + (pass.corruptPackets > 0 ? " (" + counted(pass.corruptPackets, "damaged packet") + ")" : "")
                    + "; the file is empty or damaged: copy it again from its card");
            }
            layout = PixelLayout.of(first.av.format(), clip);
            sourceFullRange = isFullRange();
            List<String> notes = new ArrayList<>();
            PictureShape shape = shapeOf(notes);
            startTime = pass.startTime();
            info = describe(shape, notes);
            firstPending = true;
        } catch (RuntimeException failed) {
            closeFrames();
            pass.close();
            throw failed;
        }
    }

    /**
     * @throws InputException when the name is not in the encoding of the file system, with what to do
     */
    public static void requireReadableName(Path path) {
        String shown = path.toString();
        // Bytes that are no text in the file system's encoding read as U+FFFD, under which name FFmpeg would not find the file.
        if (shown.indexOf('\uFFFD') < 0) {
            return;
        }
        boolean isItsName;
        try {
            isItsName = Files.exists(Path.of(shown));
        } catch (InvalidPathException notInThisLocale) {
            isItsName = false;
        }
        if (!isItsName) {
            throw new InputException(shown + ": the name is not valid UTF-8 (\uFFFD stands for what is not); rename the file");
        }
    }

    /**
     * @throws InputException when the file is missing, unreadable, no clip, without picture, or of a kind that is not supported
     */
    public static ClipReader open(Path path) {
        requireReadableName(path);
        if (!Files.exists(path)) {
            throw new InputException(path + ": there is no such file; check the name");
        }
        if (Files.isDirectory(path)) {
            throw new InputException(path + ": is a folder, a clip is wanted");
        }
        if (!Files.isRegularFile(path)) {
            throw new InputException(path + ": is not a regular file but a pipe, socket or device; give a clip file");
        }
        if (!Files.isReadable(path)) {
            throw new InputException(path + ": may not be read; check its permissions");
        }
        if (Libav.size(path) == 0) {
            throw new InputException(path + ": is empty (0 bytes); copy it again from its card");
        }
        Libav.load();
        return new ClipReader(path);
    }

    public ClipInfo info() {
        return info;
    }

    /** Gets every packet that is not of the picture (audio and the rest) in file order while frames are read. */
    void onOtherPackets(Consumer<AVPacket> consumer) {
        otherPackets = consumer;
        early.forEach(consumer);
        dropEarlyPackets();
    }

    private void dropEarlyPackets() {
        early.forEach(avcodec::av_packet_free);
        early.clear();
    }

    AVFormatContext container() {
        return pass.format;
    }

    AVStream videoStream() {
        return pass.stream;
    }

    /** Start of the clip on the container's clock, in units of 1/1000000 s. */
    long startMicroseconds() {
        long start = pass.format.start_time();
        return start == avutil.AV_NOPTS_VALUE ? 0 : start;
    }

    /** The next frame in order, or null after the last. The caller releases it. */
    public DecodedFrame next() {
        if (framesRead == 1 && !early.isEmpty()) {
            // Nobody asked for the other tracks before the second frame: none of their packets is kept from now on.
            otherPackets = packet -> { };
            dropEarlyPackets();
        }
        DecodedFrame frame;
        if (firstPending) {
            firstPending = false;
            frame = first;
        } else {
            frame = lend();
            if (!pass.receive(frame.av, otherPackets)) {
                frame.release();
                return null;
            }
        }
        try {
            deliver(frame, framesRead);
        } catch (RuntimeException refused) {
            frame.release();
            throw refused;
        }
        damagedFrames += isDamaged(frame.av) ? 1 : 0;
        framesRead++;
        return frame;
    }

    private void deliver(DecodedFrame frame, long index) {
        AVFrame av = frame.av;
        if (av.format() != layout.format() || av.width() != info.shape().width() || av.height() != info.shape().height()) {
            String now = av.width() + "x" + av.height() + " " + PixelLayout.of(av.format(), path.toString()).name();
            throw new InputException(path + ": the picture changes from " + info.shape().width() + "x" + info.shape().height() + " "
                + layout.name() + " to " + now + " at frame " + index + "; split the clip there");
        }
        AVRational base = pass.stream.time_base();
        double unit = (double) base.num() / base.den();
        long pts = av.best_effort_timestamp();
        long time = pts == avutil.AV_NOPTS_VALUE ? Math.round(index * frameSeconds() / unit) : pts - startTime;
        frame.fill(layout, info.shape(), sourceFullRange, index, time, time * unit);
    }

    private static boolean isDamaged(AVFrame av) {
        return av.decode_error_flags() != 0 || (av.flags() & Libav.FRAME_CORRUPT) != 0;
    }

    private double frameSeconds() {
        return info.framesPerSecond() > 0 ? 1 / info.framesPerSecond() : 0.04;
    }

    private DecodedFrame lend() {
        DecodedFrame frame = free.poll();
        if (frame == null) {
            frame = new DecodedFrame(this);
            allFrames.add(frame);
        }
        return frame;
    }

    void takeBack(DecodedFrame frame) {
        free.add(frame);
    }

    /** Receives the sampled frames in order; the frame is released after the call. */
    public interface FrameVisitor {
        void visit(DecodedFrame frame);
    }

    /**
     * Visits up to {@code wanted} frames spread evenly over the clip, in order: frame {@code floor((k + 1/2) N / wanted)} for
     * each k, or every frame of a shorter clip. Uses a reading of its own, so {@link #next} is not disturbed. Packets of
     * all-intra codecs between the sampled frames are not decoded.
     *
     * @return what was wrong with the clip on the way; {@link Damage#isNone()} when nothing
     */
    public Damage sample(int wanted, FrameVisitor visitor) {
        if (wanted < 1) {
            throw new IllegalArgumentException("at least one frame must be sampled, not " + wanted);
        }
        long count = Math.max(1, info.framesKnown() ? info.frames() : countPackets());
        long[] picks = picks(wanted, count);
        boolean intra = isIntraOnly();
        long seen = 0;
        long wrong = 0;
        int visited = 0;
        DecodedFrame frame = new DecodedFrame(this);
        try (DecodingPass ownPass = new DecodingPass(path)) {
            if (intra) {
                ownPass.decodeOnly(picks);
            }
            while (visited < picks.length && ownPass.receive(frame.av, packet -> { })) {
                wrong += isDamaged(frame.av) ? 1 : 0;
                if (intra || seen == picks[visited]) {
                    deliver(frame, intra ? picks[visited] : seen);
                    visitor.visit(frame);
                    visited++;
                }
                avutil.av_frame_unref(frame.av);
                seen++;
            }
            if (visited == 0) {
                throw new InputException(path + ": none of its frames can be decoded; copy it again from its card");
            }
            boolean cut = isShorterThanItsIndex() || endsEarly || ownPass.ended && ownPass.videoPackets < count;
            return new Damage(ownPass.corruptPackets, wrong, cut, cut ? Math.min(count, ownPass.videoPackets) : count, count);
        } finally {
            avutil.av_frame_free(frame.av);
        }
    }

    /** The frames that {@link #sample} visits. */
    public static long[] picks(int wanted, long count) {
        if (count <= wanted) {
            long[] all = new long[(int) count];
            Arrays.setAll(all, i -> i);
            return all;
        }
        long[] picks = new long[wanted];
        for (int k = 0; k < wanted; k++) {
            picks[k] = (2L * k + 1) * count / (2L * wanted);
        }
        return picks;
    }

    /** FFV1 is listed as all-intra but may refer to the frame before. */
    private boolean isIntraOnly() {
        int id = pass.stream.codecpar().codec_id();
        AVCodecDescriptor descriptor = avcodec.avcodec_descriptor_get(id);
        return descriptor != null && !descriptor.isNull() && (descriptor.props() & avcodec.AV_CODEC_PROP_INTRA_ONLY) != 0
            && id != avcodec.AV_CODEC_ID_FFV1 && !info.isStill();
    }

    private long countPackets() {
        try (DecodingPass ownPass = new DecodingPass(path)) {
            long count = ownPass.countPackets();
            endsEarly = isEarly(ownPass.lastEnd);
            return count;
        }
    }

    /** The header's duration is rounded and may include a long last frame: half a second or 2 % is no loss. */
    private boolean isEarly(double lastEnd) {
        return durationIsDeclared() && info.seconds() - lastEnd > Math.max(0.5, 0.02 * info.seconds());
    }

    /** True when the container's index names data beyond the end of the file: the copy was cut short. */
    private boolean isShorterThanItsIndex() {
        int entries = avformat.avformat_index_get_entries_count(pass.stream);
        long size = Libav.size(path);
        if (entries == 0 || !isIndexedInHeader(pass)) {
            return false;
        }
        long end = 0;
        for (int i = Math.max(0, entries - 1000); i < entries; i++) {
            AVIndexEntry entry = avformat.avformat_index_get_entry(pass.stream, i);
            end = Math.max(end, entry.pos() + entry.size());
        }
        return end > size;
    }

    /** Only this family keeps the index of the whole clip in its header; others fill theirs while reading. */
    private static boolean isIndexedInHeader(DecodingPass of) {
        return Libav.text(of.format.iformat().name()).contains("mp4");
    }

    private static String counted(long count, String thing) {
        return count + " " + thing + (count == 1 ? "" : "s");
    }

    /** What went wrong up to now; whether the clip ended early is known after {@link #next} gave null. */
    public Damage damage() {
        long declared = info.framesKnown() ? info.frames() : 0;
        boolean missing = pass.ended && declared > 0 && pass.videoPackets < declared;
        boolean cut = isShorterThanItsIndex() || missing || pass.ended && isEarly(pass.lastEnd) || pass.endedByError;
        return new Damage(pass.corruptPackets, damagedFrames, cut, framesRead, declared);
    }

    private boolean durationIsDeclared() {
        return info.seconds() > 0 && !info.isStill() && pass.format.duration_estimation_method() == avformat.AVFMT_DURATION_FROM_STREAM;
    }

    /**
     * What is wrong with a clip's data.
     *
     * @param corruptPackets packets the decoder refused
     * @param damagedFrames  frames the decoder marked as patched up
     * @param cutShort       the file ends before the clip does
     * @param framesRead     frames that came out
     * @param framesDeclared frames the container declares; 0 when it does not say
     */
    public record Damage(long corruptPackets, long damagedFrames, boolean cutShort, long framesRead, long framesDeclared) {
        public boolean isNone() {
            return corruptPackets == 0 && damagedFrames == 0 && !cutShort;
        }

        /** True when the clip must not pass as whole: cut short, or more than 1 % of its frames (and more than one) damaged or lost. */
        public boolean isGrave() {
            return cutShort || corruptPackets + damagedFrames > Math.max(1, framesRead / 100.0);
        }

        /** One sentence without full stop. */
        public String sentence() {
            String frames = framesDeclared > framesRead ? framesRead + " of " + counted(framesDeclared, "frame") : counted(framesRead, "frame");
            if (cutShort) {
                return "the file is cut short: only the first " + frames + " can be read";
            }
            String packets = corruptPackets > 0 ? counted(corruptPackets, "damaged packet") : "";
            String patched = damagedFrames > 0 || packets.isEmpty() ? counted(damagedFrames, "damaged frame") : "";
            return packets + (packets.isEmpty() || patched.isEmpty() ? "" : " and ") + patched + " among " + frames;
        }
    }

    private boolean isFullRange() {
        int range = first.av.color_range();
        if (range == avutil.AVCOL_RANGE_UNSPECIFIED) {
            range = pass.stream.codecpar().color_range();
        }
        if (range == avutil.AVCOL_RANGE_UNSPECIFIED) {
            return layout.isRgb() || layout.isFullRangeByName();
        }
        return range == avutil.AVCOL_RANGE_JPEG || layout.name().startsWith("yuvj");
    }

    private PictureShape shapeOf(List<String> notes) {
        AVFrame av = first.av;
        LumaStandard standard = standardOf(av, notes);
        boolean full = sourceFullRange && !layout.isRgb();
        int location = chromaLocation(av);
        boolean cosited = layout.sampling().shiftX() == 0 || location == avutil.AVCHROMA_LOC_UNSPECIFIED
            || location == avutil.AVCHROMA_LOC_LEFT || location == avutil.AVCHROMA_LOC_TOPLEFT || location == avutil.AVCHROMA_LOC_BOTTOMLEFT;
        boolean top = layout.sampling().shiftY() == 0 || location == avutil.AVCHROMA_LOC_TOPLEFT || location == avutil.AVCHROMA_LOC_TOP;
        if (layout.sampling().shiftY() == 1 && (location == avutil.AVCHROMA_LOC_BOTTOMLEFT || location == avutil.AVCHROMA_LOC_BOTTOM)) {
            notes.add("chroma rows are tagged as lying on the lower luma row; they are taken as midway, half a row off");
        }
        if (layout.isRgb()) {
            notes.add("R'G'B' source: turned into 4:4:4 Y'CbCr at " + layout.depth().bits() + " bit by our own matrix");
        } else if (layout.kind() == PixelLayout.Kind.GREY) {
            notes.add("black-and-white source");
        } else if (layout.sourceBits() > 12) {
            notes.add(layout.sourceBits() + "-bit source: rounded to 12 bit");
        }
        if (layout.hasAlpha()) {
            notes.add("alpha is left out");
        }
        String foreign = colourTags().foreignTransfer();
        if (!foreign.isEmpty()) {
            notes.add("transfer is tagged " + foreign + ": levels are read as they stand, and render does not take the clip");
        }
        return new PictureShape(av.width(), av.height(), layout.sampling(), layout.depth(), standard, full, cosited, top);
    }

    private ClipInfo.ColourTags colourTags() {
        int transfer = first.av.color_trc();
        return new ClipInfo.ColourTags(first.av.color_primaries(),
            transfer != avutil.AVCOL_TRC_UNSPECIFIED ? transfer : pass.stream.codecpar().color_trc(), first.av.colorspace(),
            chromaLocation(first.av));
    }

    private int chromaLocation(AVFrame av) {
        int location = av.chroma_location();
        return location != avutil.AVCHROMA_LOC_UNSPECIFIED ? location : pass.stream.codecpar().chroma_location();
    }

    private LumaStandard standardOf(AVFrame av, List<String> notes) {
        if (layout.isRgb()) {
            return av.color_primaries() == avutil.AVCOL_PRI_BT2020 ? LumaStandard.BT2020 : LumaStandard.BT709;
        }
        int matrix = av.colorspace();
        switch (matrix) {
            case avutil.AVCOL_SPC_BT709:
                return LumaStandard.BT709;
            case avutil.AVCOL_SPC_BT470BG:
            case avutil.AVCOL_SPC_SMPTE170M:
                return LumaStandard.BT601;
            case avutil.AVCOL_SPC_BT2020_NCL:
                return LumaStandard.BT2020;
            case avutil.AVCOL_SPC_UNSPECIFIED:
            case avutil.AVCOL_SPC_RGB:
            case avutil.AVCOL_SPC_RESERVED:
                if (av.color_primaries() == avutil.AVCOL_PRI_BT2020) {
                    notes.add("matrix is not tagged: BT.2020 taken from the primaries (common practice, no source)");
                    return LumaStandard.BT2020;
                }
                // JFIF 1.02 prescribes BT.601 whatever the size.
                boolean jpeg = pass.stream.codecpar().codec_id() == avcodec.AV_CODEC_ID_MJPEG;
                LumaStandard guess = !jpeg && av.height() >= HD_HEIGHT ? LumaStandard.BT709 : LumaStandard.BT601;
                notes.add("matrix is not tagged: " + guess.label() + (jpeg ? " taken as JPEG prescribes" : " taken from the height of "
                    + av.height() + " rows (common practice, no source)"));
                return guess;
            default:
                throw new InputException(path + ": matrix " + Libav.text(avutil.av_color_space_name(matrix))
                    + " is not supported; BT.601, BT.709 and BT.2020 non-constant luminance are: convert the clip first");
        }
    }

    private ClipInfo describe(PictureShape shape, List<String> notes) {
        AVStream stream = pass.stream;
        AVCodecParameters parameters = stream.codecpar();
        AVRational rate = avformat.av_guess_frame_rate(pass.format, stream, first.av);
        AVRational average = stream.avg_frame_rate();
        AVRational nominal = stream.r_frame_rate();
        double averageRate = average.den() > 0 ? (double) average.num() / average.den() : 0;
        double nominalRate = nominal.den() > 0 ? (double) nominal.num() / nominal.den() : 0;
        boolean variable = averageRate > 0 && nominalRate > 0 && Math.abs(averageRate - nominalRate) > 0.005 * nominalRate;
        AVRational base = stream.time_base();
        double seconds = stream.duration() > 0 ? (double) stream.duration() * base.num() / base.den()
            : pass.format.duration() > 0 ? pass.format.duration() / 1e6 : 0;
        long frames = stream.nb_frames();
        int indexed = avformat.avformat_index_get_entries_count(stream);
        if (frames > 0 && indexed > 0 && isIndexedInHeader(pass)) {
            // An edit list may leave out samples that the sample table counts.
            frames = indexed;
        }
        boolean known = frames > 0;
        if (!known) {
            frames = rate.den() > 0 && seconds > 0 ? Math.max(1, Math.round(seconds * rate.num() / rate.den())) : 0;
        }
        List<ClipInfo.AudioTrack> audio = new ArrayList<>();
        int others = 0;
        String timecode = Libav.entry(pass.format.metadata(), "timecode");
        for (int i = 0; i < pass.format.nb_streams(); i++) {
            AVStream other = pass.format.streams(i);
            AVCodecParameters p = other.codecpar();
            if (timecode.isEmpty()) {
                timecode = Libav.entry(other.metadata(), "timecode");
            }
            if (p.codec_type() == avutil.AVMEDIA_TYPE_AUDIO) {
                audio.add(new ClipInfo.AudioTrack(i, Libav.text(avcodec.avcodec_get_name(p.codec_id())), p.ch_layout().nb_channels(),
                    p.sample_rate(), Libav.entry(other.metadata(), "language")));
            } else if (i != stream.index() && Libav.entry(other.metadata(), "timecode").isEmpty()) {
                others++;
            }
        }
        return new ClipInfo(path, Libav.text(pass.format.iformat().name()), Libav.text(avcodec.avcodec_get_name(parameters.codec_id())),
            layout.name(), shape, layout.sourceBits(), colourTags(), Math.max(0, rate.num()), Math.max(1, rate.den()), variable, frames, known, seconds,
            rotationOf(parameters), first.isInterlaced(), timecode, audio, others, notes);
    }

    private static int rotationOf(AVCodecParameters parameters) {
        AVPacketSideData data = avcodec.av_packet_side_data_get(parameters.coded_side_data(), parameters.nb_coded_side_data(),
            avcodec.AV_PKT_DATA_DISPLAYMATRIX);
        if (data == null || data.isNull()) {
            return 0;
        }
        double anticlockwise = avutil.av_display_rotation_get(new IntPointer(data.data()));
        return Double.isNaN(anticlockwise) ? 0 : Math.floorMod((int) Math.round(-anticlockwise), 360);
    }

    private void closeFrames() {
        dropEarlyPackets();
        for (DecodedFrame frame : allFrames) {
            avutil.av_frame_free(frame.av);
        }
        allFrames.clear();
    }

    /** Frees everything. All frames must have been released. */
    @Override
    public void close() {
        if (!closed) {
            closed = true;
            closeFrames();
            pass.close();
        }
    }
}
