// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.io.ByteArrayOutputStream;
import java.io.DataOutputStream;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.util.Locale;
import java.util.zip.CRC32;
import java.util.zip.Deflater;
import java.util.zip.DeflaterOutputStream;
import org.evenstop.engine.frame.PlanarFrame;

/**
 * An 8-bit RGB picture, {@code [height][width][3]}, row 0 at the top, that frames and words can be put on and that becomes a PNG file
 * (W3C Portable Network Graphics, second edition). Needs no font and no graphics library of the machine.
 */
final class Picture {
    /** Capitals, figures and a few signs, five columns by seven rows; two hexadecimal figures a row. Drawn for this page. */
    private static final String SIGNS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,-+%:/";
    private static final String[] SHAPES = {
        "0E11111F111111", "1E11111E11111E", "0E11101010110E", "1E11111111111E", "1F10101E10101F", "1F10101E101010", "0E11101711110F",
        "1111111F111111", "0E04040404040E", "0702020202120C", "11121418141211", "1010101010101F", "111B1515111111", "11191513111111",
        "0E11111111110E", "1E11111E101010", "0E11111115120D", "1E11111E141211", "0F10100E01011E", "1F040404040404", "1111111111110E",
        "11111111110A04", "11111115151B11", "11110A040A1111", "11110A04040404", "1F01020408101F", "0E11131519110E", "040C040404040E",
        "0E11010204081F", "0E11010601110E", "02060A121F0202", "1F101E0101110E", "0E10101E11110E", "1F010204080808", "0E11110E11110E",
        "0E11110F01010E", "0000000000000C", "000000000C0408", "0000001F000000", "0004041F040400", "18190204081303", "000C0C000C0C00",
        "01010204081010"};

    private final int width;
    private final int height;
    private final byte[] rgb;

    Picture(int width, int height, int grey) {
        this.width = width;
        this.height = height;
        rgb = new byte[Math.multiplyExact(Math.multiplyExact(width, height), 3)];
        java.util.Arrays.fill(rgb, (byte) grey);
    }

    int width() {
        return width;
    }

    int height() {
        return height;
    }

    /** Red, green or blue (channel 0, 1, 2) of a pixel, 0..255. */
    int value(int x, int y, int channel) {
        return rgb[3 * (y * width + x) + channel] & 0xff;
    }

    /** Puts a frame into a rectangle, each pixel the mean of those it stands for; levels above 100 % show as white, as on a screen. */
    void put(PlanarFrame frame, int left, int top, int columns, int rows) {
        for (int y = 0; y < rows; y++) {
            int y0 = (int) ((long) y * frame.height() / rows);
            int y1 = Math.max(y0 + 1, (int) ((long) (y + 1) * frame.height() / rows));
            for (int x = 0; x < columns; x++) {
                int x0 = (int) ((long) x * frame.width() / columns);
                int x1 = Math.max(x0 + 1, (int) ((long) (x + 1) * frame.width() / columns));
                mean(frame, x0, x1, y0, y1, 3 * ((top + y) * width + left + x));
            }
        }
    }

    private void mean(PlanarFrame frame, int x0, int x1, int y0, int y1, int at) {
        double sumLuma = 0;
        double sumCb = 0;
        double sumCr = 0;
        for (int y = y0; y < y1; y++) {
            for (int x = x0; x < x1; x++) {
                sumLuma += frame.lumaCode(x, y);
                sumCb += frame.cbCode(x >> frame.sampling().shiftX(), y >> frame.sampling().shiftY());
                sumCr += frame.crCode(x >> frame.sampling().shiftX(), y >> frame.sampling().shiftY());
            }
        }
        double count = (double) (x1 - x0) * (y1 - y0);
        int achromatic = frame.depth().achromaticCode();
        double luma = (sumLuma / count - frame.blackCode()) / frame.lumaSpan();
        double blue = luma + frame.standard().cbDivisor() * (sumCb / count - achromatic) / frame.chromaSpan();
        double red = luma + frame.standard().crDivisor() * (sumCr / count - achromatic) / frame.chromaSpan();
        double green = (luma - frame.standard().redWeight() * red - frame.standard().blueWeight() * blue) / frame.standard().greenWeight();
        rgb[at] = byteOf(red);
        rgb[at + 1] = byteOf(green);
        rgb[at + 2] = byteOf(blue);
    }

    private static byte byteOf(double level) {
        return (byte) Math.round(255 * Noise.clamp(level, 0, 1));
    }

    /** Writes a line in capitals of {@code size} pixels a dot, its top left corner at a point; what has no sign leaves a gap. */
    void write(String text, int left, int top, int size, int grey) {
        String line = text.toUpperCase(Locale.ROOT);
        for (int i = 0; i < line.length(); i++) {
            int sign = SIGNS.indexOf(line.charAt(i));
            for (int row = 0; sign >= 0 && row < 7; row++) {
                int dots = Integer.parseInt(SHAPES[sign].substring(2 * row, 2 * row + 2), 16);
                for (int column = 0; column < 5; column++) {
                    if ((dots & 16 >> column) != 0) {
                        fill(left + (6 * i + column) * size, top + row * size, size, size, grey);
                    }
                }
            }
        }
    }

    /** Width of a line in pixels. */
    static int widthOf(String text, int size) {
        return Math.max(0, 6 * text.length() - 1) * size;
    }

    private void fill(int left, int top, int columns, int rows, int grey) {
        for (int y = Math.max(0, top); y < Math.min(height, top + rows); y++) {
            for (int x = Math.max(0, left); x < Math.min(width, left + columns); x++) {
                int at = 3 * (y * width + x);
                rgb[at] = (byte) grey;
                rgb[at + 1] = (byte) grey;
                rgb[at + 2] = (byte) grey;
            }
        }
    }

    /** The picture as a PNG file. */
    byte[] png() {
        try {
            ByteArrayOutputStream packed = new ByteArrayOutputStream();
            try (DeflaterOutputStream deflate = new DeflaterOutputStream(packed, new Deflater(9))) {
                byte[] line = new byte[3 * width];
                for (int y = 0; y < height; y++) {
                    // Filter 1: each byte less the one a pixel to its left.
                    deflate.write(1);
                    int from = 3 * width * y;
                    for (int i = 0; i < line.length; i++) {
                        line[i] = (byte) (rgb[from + i] - (i < 3 ? 0 : rgb[from + i - 3]));
                    }
                    deflate.write(line);
                }
            }
            ByteArrayOutputStream file = new ByteArrayOutputStream();
            DataOutputStream out = new DataOutputStream(file);
            out.write(new byte[] {(byte) 0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'});
            ByteArrayOutputStream head = new ByteArrayOutputStream();
            DataOutputStream header = new DataOutputStream(head);
            header.writeInt(width);
            header.writeInt(height);
            header.write(new byte[] {8, 2, 0, 0, 0});
            chunk(out, "IHDR", head.toByteArray());
            chunk(out, "IDAT", packed.toByteArray());
            chunk(out, "IEND", new byte[0]);
            return file.toByteArray();
        } catch (IOException impossible) {
            throw new UncheckedIOException(impossible);
        }
    }

    private static void chunk(DataOutputStream out, String name, byte[] content) throws IOException {
        byte[] kind = name.getBytes(java.nio.charset.StandardCharsets.US_ASCII);
        CRC32 check = new CRC32();
        check.update(kind);
        check.update(content);
        out.writeInt(content.length);
        out.write(kind);
        out.write(content);
        out.writeInt((int) check.getValue());
    }
}
