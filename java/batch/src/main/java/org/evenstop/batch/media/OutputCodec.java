// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.util.Arrays;
import java.util.stream.Collectors;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.level.CodeDepth;

/** The codecs a render can be written in, with the shape of picture each one takes. */
public enum OutputCodec {
    PRORES_HQ("proresHq", "mov", "mov", "prores_aw", "10-bit 4:2:2 ProRes HQ in .mov"),
    PRORES_4444("prores4444", "mov", "mov", "prores_aw", "10-bit 4:4:4 ProRes 4444 in .mov"),
    DNXHR_HQX("dnxhrHqx", "mov", "mov", "dnxhd", "10-bit 4:2:2 DNxHR HQX in .mov"),
    FFV1("ffv1", "mkv", "matroska", "ffv1", "lossless FFV1 in .mkv, sampling, depth and range of the source");

    private final String label;
    private final String extension;
    private final String muxer;
    private final String encoder;
    private final String description;

    OutputCodec(String label, String extension, String muxer, String encoder, String description) {
        this.label = label;
        this.extension = extension;
        this.muxer = muxer;
        this.encoder = encoder;
        this.description = description;
    }

    /** The name on the command line. */
    public String label() {
        return label;
    }

    /** File name extension without the dot. */
    public String extension() {
        return extension;
    }

    public String description() {
        return description;
    }

    /** FFmpeg's name of the container. */
    String muxer() {
        return muxer;
    }

    /**
     * FFmpeg's name of the encoder. Of its ProRes encoders prores_aw is three to four times as fast as prores_ks and truer to the
     * source at the sizes it chooses, but refuses odd widths.
     */
    String encoder(int width) {
        return encoder.equals("prores_aw") && width % 2 == 1 ? "prores_ks" : encoder;
    }

    /** @throws InputException naming the allowed ones */
    public static OutputCodec named(String label) {
        for (OutputCodec codec : values()) {
            if (codec.label.equals(label)) {
                return codec;
            }
        }
        throw new InputException("--codec " + label + " is unknown; give one of " + labels());
    }

    public static String labels() {
        return Arrays.stream(values()).map(OutputCodec::label).collect(Collectors.joining(", "));
    }

    /**
     * What is encoded of a source of this shape. ProRes and DNxHR are written in narrow range, also from full range: their .mov
     * has no tag that players heed for it.
     */
    public PictureShape encodedShape(PictureShape source) {
        return switch (this) {
            case FFV1 -> source;
            case PRORES_4444 -> source.withFullRange(false).withDepth(CodeDepth.BITS10).withSampling(ChromaSampling.S444);
            case PRORES_HQ, DNXHR_HQX -> source.withFullRange(false).withDepth(CodeDepth.BITS10).withSampling(ChromaSampling.S422)
                .withChromaCosited(true);
        };
    }

    /**
     * The shape a correction is worked out in: never less depth or chroma than source or output have, so that it is rounded once,
     * at the output's depth or finer.
     */
    public PictureShape workingShape(PictureShape source) {
        PictureShape encoded = encodedShape(source);
        CodeDepth depth = source.depth().bits() > encoded.depth().bits() ? source.depth() : encoded.depth();
        PictureShape working = source.withFullRange(encoded.fullRange()).withDepth(depth);
        int sourceChroma = source.sampling().shiftX() + source.sampling().shiftY();
        int encodedChroma = encoded.sampling().shiftX() + encoded.sampling().shiftY();
        if (encodedChroma < sourceChroma) {
            return working.withSampling(encoded.sampling());
        }
        return encodedChroma == sourceChroma ? working.withChromaCosited(encoded.chromaCosited()) : working;
    }
}
