// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.evaluate;

import java.awt.image.BufferedImage;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Locale;
import java.util.Set;
import java.util.stream.Stream;
import javax.imageio.ImageIO;
import org.evenstop.batch.Terminal;
import org.evenstop.batch.demo.DemoScenes;
import org.evenstop.engine.InputException;
import org.evenstop.engine.evaluate.Scene;

/** The pictures that an evaluation shoots: stills by file, or the places of the demo. */
final class Pictures {
    /** Pictures of fewer pixels have too few 8x8 blocks to say anything. */
    private static final int FEWEST_PIXELS = 64 * 64;
    private static final long MOST_PIXELS = 200_000_000L;
    private static final Set<String> EXTENSIONS = Set.of("png", "jpg", "jpeg", "bmp", "gif", "tif", "tiff");

    private Pictures() {
    }

    /** One picture that can be had as scene light. */
    interface Picture {
        /** One line, fit for a terminal. */
        String name();

        /** @param pixels about how many are wanted */
        Scene scene(int pixels);
    }

    private record Still(Path file) implements Picture {
        @Override
        public String name() {
            String name = file.getFileName().toString();
            int dot = name.lastIndexOf('.');
            return Terminal.plain(dot > 0 ? name.substring(0, dot) : name);
        }

        @Override
        public Scene scene(int pixels) {
            BufferedImage image;
            try {
                image = ImageIO.read(file.toFile());
            } catch (IOException | IllegalArgumentException | ArrayIndexOutOfBoundsException damaged) {
                throw new InputException(file + ": cannot be read as a still; give a PNG or JPEG picture that opens elsewhere", damaged);
            }
            if (image == null) {
                throw new InputException(file + ": is not a still that can be read; give a PNG or JPEG picture");
            }
            int w = image.getWidth();
            int h = image.getHeight();
            if (w < 16 || h < 16 || (long) w * h < FEWEST_PIXELS || (long) w * h > MOST_PIXELS) {
                throw new InputException(file + ": " + w + "x" + h + " pixels are outside what can be evaluated; give a still of 64x64 to 200 megapixels");
            }
            return Scene.ofSrgb(w, h, image.getRGB(0, 0, w, h, null, 0, w), pixels);
        }
    }

    private record Place(String name, int threads) implements Picture {
        @Override
        public Scene scene(int pixels) {
            return DemoScenes.draw(name, pixels, threads);
        }
    }

    /** Files as named, folders as the stills in them by name; the demo's places where nothing is named. */
    static List<Picture> of(List<Path> named, int threads) {
        List<Picture> pictures = new ArrayList<>();
        if (named == null || named.isEmpty()) {
            DemoScenes.names().forEach(name -> pictures.add(new Place(name, threads)));
            return pictures;
        }
        for (Path path : named) {
            if (Files.isDirectory(path)) {
                inFolder(path).forEach(file -> pictures.add(new Still(file)));
            } else if (Files.isRegularFile(path)) {
                pictures.add(new Still(path));
            } else {
                throw new InputException(path + ": there is no such file or folder; give stills, a folder of stills, or nothing for the demo's pictures");
            }
        }
        return pictures;
    }

    private static List<Path> inFolder(Path folder) {
        try (Stream<Path> entries = Files.list(folder)) {
            List<Path> found = entries.filter(Files::isRegularFile).filter(Pictures::isStill)
                .sorted(Comparator.comparing(p -> p.getFileName().toString())).toList();
            if (found.isEmpty()) {
                throw new InputException(folder + ": there is no still in this folder (looked for ."
                    + String.join(", .", EXTENSIONS.stream().sorted().toList()) + "); name the files");
            }
            return found;
        } catch (IOException unreadable) {
            throw new InputException(folder + ": the folder cannot be read; check its permissions", unreadable);
        }
    }

    private static boolean isStill(Path path) {
        String name = path.getFileName().toString().toLowerCase(Locale.ROOT);
        int dot = name.lastIndexOf('.');
        return !name.startsWith(".") && dot > 0 && EXTENSIONS.contains(name.substring(dot + 1));
    }
}
