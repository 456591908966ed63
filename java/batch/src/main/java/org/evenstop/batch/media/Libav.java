// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import org.bytedeco.ffmpeg.avutil.AVDictionary;
import org.bytedeco.ffmpeg.avutil.AVDictionaryEntry;
import org.bytedeco.ffmpeg.avutil.AVRational;
import org.bytedeco.ffmpeg.global.avutil;
import org.bytedeco.javacpp.BytePointer;
import org.bytedeco.javacv.FFmpegLogCallback;
import org.evenstop.engine.InputException;

/**
 * The bundled FFmpeg of this process: loaded at first use, its own log silenced (people get our one line instead), its error
 * numbers put into words. {@code EVENSTOP_DEBUG=1} lets its log through.
 */
final class Libav {
    /** AV_FRAME_FLAG_* of libavutil/frame.h; the bindings leave out constants written as shifts. */
    static final int FRAME_CORRUPT = 1;
    static final int FRAME_INTERLACED = 1 << 3;
    static final int FRAME_TOP_FIELD_FIRST = 1 << 4;

    static {
        // Frames live in FFmpeg's own pools and are freed by hand: the binding's memory watch and collector thread only cost.
        System.setProperty("org.bytedeco.javacpp.maxPhysicalBytes", "0");
        System.setProperty("org.bytedeco.javacpp.maxBytes", "0");
        System.setProperty("org.bytedeco.javacpp.nopointergc", "true");
        try {
            if ("1".equals(System.getenv("EVENSTOP_DEBUG"))) {
                FFmpegLogCallback.set();
                avutil.av_log_set_level(avutil.AV_LOG_WARNING);
            } else {
                avutil.av_log_set_level(avutil.AV_LOG_QUIET);
            }
        } catch (UnsatisfiedLinkError | NoClassDefFoundError missing) {
            throw new InputException("the bundled FFmpeg does not load on this machine (" + missing.getMessage()
                + "); it is built for the platform named at build time: build again here with ./evenstop", missing);
        }
    }

    private Libav() {
    }

    /** Loads the native libraries; later calls cost nothing. */
    static void load() {
        // The static block does it.
    }

    /** Threads of a decoder or encoder: the system property {@code evenstop.threads}, else one a core, 16 at most. */
    static int threads() {
        int wanted = Integer.getInteger("evenstop.threads", Runtime.getRuntime().availableProcessors());
        return Math.max(1, Math.min(16, wanted));
    }

    /** @throws InputException saying what could not be done when {@code code} is an error */
    static int check(int code, String what) {
        if (code < 0) {
            throw new InputException(what + ": " + describe(code));
        }
        return code;
    }

    static String describe(int code) {
        byte[] text = new byte[256];
        avutil.av_strerror(code, text, text.length);
        int length = 0;
        while (length < text.length && text[length] != 0) {
            length++;
        }
        String message = new String(text, 0, length, StandardCharsets.UTF_8);
        return message.isEmpty() ? "error " + code : Character.toLowerCase(message.charAt(0)) + message.substring(1);
    }

    static String text(BytePointer pointer) {
        return pointer == null || pointer.isNull() ? "" : pointer.getString(StandardCharsets.UTF_8);
    }

    /** A value of an FFmpeg dictionary; empty when absent. */
    static String entry(AVDictionary dictionary, String key) {
        if (dictionary == null || dictionary.isNull()) {
            return "";
        }
        AVDictionaryEntry entry = avutil.av_dict_get(dictionary, key, null, 0);
        return entry == null || entry.isNull() ? "" : text(entry.value());
    }

    static AVRational rational(int num, int den) {
        return new AVRational().num(num).den(den);
    }

    /** The address FFmpeg opens for a path: the prefix keeps names with a colon or a percent sign from being read as an address. */
    static String url(Path path) {
        return "file:" + path.toAbsolutePath();
    }

    static long size(Path path) {
        try {
            return Files.size(path);
        } catch (java.io.IOException unreadable) {
            return -1;
        }
    }
}
