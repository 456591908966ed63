// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.nio.file.Path;
import java.util.List;

/**
 * What a clip says about itself, and what was taken where it says nothing.
 *
 * @param path            the file
 * @param container       FFmpeg's name of the container format
 * @param codec           FFmpeg's name of the video codec
 * @param pixelFormat     FFmpeg's name of the decoder's pixel format
 * @param shape           size, sampling, depth, matrix and range of the frames as they are handed over
 * @param sourceBits      bits of a sample in the file
 * @param colour          the tags of the file; values are those of ITU-T H.273
 * @param rateNumerator   frames per second is {@code rateNumerator / rateDenominator}; 0/1 when unknown
 * @param variableRate    the container's average and nominal rate differ
 * @param frames          frames in the clip; an estimate unless {@code framesKnown}
 * @param seconds         duration; 0 when unknown
 * @param rotation        degrees clockwise a player turns the picture: 0, 90, 180 or 270 as a rule
 * @param interlaced      the first frame is marked as two fields
 * @param timecode        start timecode as the container writes it; empty when there is none
 * @param audio           audio tracks in file order
 * @param otherTracks     tracks that are neither audio nor the picture (subtitles, data)
 * @param notes           one sentence each: what was assumed or converted
 */
public record ClipInfo(Path path, String container, String codec, String pixelFormat, PictureShape shape, int sourceBits,
                       ColourTags colour, int rateNumerator, int rateDenominator, boolean variableRate, long frames, boolean framesKnown,
                       double seconds, int rotation, boolean interlaced, String timecode, List<AudioTrack> audio, int otherTracks,
                       List<String> notes) {

    /** Colour description, ITU-T H.273 numbers as FFmpeg keeps them; 2 (and 0 for chroma location) is "not said". */
    public record ColourTags(int primaries, int transfer, int matrix, int chromaLocation) {
        /**
         * The name of a transfer whose codes are not levels of a standard-range picture (ITU-T H.273 table 3: 9, 10, 16, 18), so that
         * a correction made for such levels would be wrong; empty for every other transfer.
         */
        public String foreignTransfer() {
            return switch (transfer) {
                case 9 -> "log100 (logarithmic, 100:1)";
                case 10 -> "log316 (logarithmic, 316:1)";
                case 16 -> "smpte2084 (PQ, HDR)";
                case 18 -> "arib-std-b67 (HLG, HDR)";
                default -> "";
            };
        }
    }

    public record AudioTrack(int stream, String codec, int channels, int sampleRate, String language) {
    }

    public ClipInfo {
        audio = List.copyOf(audio);
        notes = List.copyOf(notes);
    }

    public String name() {
        return path.getFileName().toString();
    }

    public double framesPerSecond() {
        return rateNumerator > 0 ? (double) rateNumerator / rateDenominator : 0;
    }

    /** A one-frame picture file rather than a clip. */
    public boolean isStill() {
        return container.endsWith("_pipe") || container.equals("image2");
    }
}
