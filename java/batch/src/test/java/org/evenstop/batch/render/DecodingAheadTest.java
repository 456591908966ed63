// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertSame;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.Optional;
import java.util.stream.Stream;
import org.evenstop.batch.media.OutputCodec;
import org.evenstop.batch.media.TestClip;
import org.evenstop.engine.InputException;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.solve.Solver;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** Frames are decoded while the correction is worked out: what becomes of them when there is none. */
class DecodingAheadTest {
    /** More than are decoded ahead, so that decoding cannot be over before somebody takes them. */
    private static final int FRAMES = 40;

    @TempDir
    Path folder;
    private Path clip;

    @BeforeEach
    void makeClip() {
        clip = TestClip.make().format("yuv422p10").size(192, 108).frames(FRAMES).audio(1).write(folder.resolve("a.mkv"));
    }

    @AfterEach
    void nothingIsLeft() throws IOException {
        assertTrue(decoding().isEmpty(), "no thread decodes any more");
        try (Stream<Path> left = Files.list(folder)) {
            assertEquals(List.of("a.mkv"), left.map(p -> p.getFileName().toString()).sorted().toList());
        }
    }

    private static Optional<Thread> decoding() {
        return Thread.getAllStackTraces().keySet().stream().filter(t -> t.getName().equals("evenstop-decode")).findAny();
    }

    /** Waits until so many frames have been decoded that there is no room for the next. */
    private static Thread awaitFramesAhead() {
        Thread decoding = decoding().orElseThrow(() -> new AssertionError("nothing is decoded while the correction is worked out"));
        while (decoding.getState() != Thread.State.TIMED_WAITING) {
            assertTrue(decoding.isAlive(), "decoding waits for frames to be taken");
            Thread.onSpinWait();
        }
        return decoding;
    }

    private void render(ClipRender.Solving solving) {
        new ClipRender(new ClipRender.Settings(OutputCodec.FFV1, EvenstopFiles.profile("cinema-soft"), EvenstopFiles.preset("even"), 1f, false, 2),
            (stage, done, all) -> { }).with(solving).run(clip, folder.resolve("o.mkv"), folder.resolve("o.json"));
    }

    @Test
    void aSolverThatThrowsEndsIt() {
        Thread[] decoding = new Thread[1];
        InputException refused = new InputException("cannot be solved");
        assertSame(refused, assertThrows(InputException.class, () -> render((measured, profile, preset) -> {
            decoding[0] = awaitFramesAhead();
            throw refused;
        })));
        assertFalse(decoding[0].isAlive());
    }

    @Test
    void anErrorInTheSolverEndsIt() {
        StackOverflowError error = new StackOverflowError();
        assertSame(error, assertThrows(StackOverflowError.class, () -> render((measured, profile, preset) -> {
            awaitFramesAhead();
            throw error;
        })));
    }

    @Test
    void anInterruptionEndsIt() {
        try {
            assertThrows(RuntimeException.class, () -> render((measured, profile, preset) -> {
                awaitFramesAhead();
                Thread.currentThread().interrupt();
                return Solver.solve(measured, profile, preset);
            }));
        } finally {
            Thread.interrupted();
        }
    }

    @Test
    void anInterruptedSolverThatThrowsEndsIt() {
        try {
            assertThrows(InputException.class, () -> render((measured, profile, preset) -> {
                awaitFramesAhead();
                Thread.currentThread().interrupt();
                throw new InputException("cannot be solved");
            }));
            assertTrue(Thread.currentThread().isInterrupted(), "the caller learns of it");
        } finally {
            Thread.interrupted();
        }
    }

    @Test
    void aCorrectionThatCannotBeWrittenEndsIt() {
        InputException refused = assertThrows(InputException.class, () -> render((measured, profile, preset) -> {
            awaitFramesAhead();
            try (Stream<Path> inside = Files.list(folder)) {
                Path pending = inside.filter(p -> p.getFileName().toString().startsWith(".o.json")).findAny().orElseThrow();
                Files.delete(pending);
                Files.createDirectory(pending);
            } catch (IOException failed) {
                throw new IllegalStateException(failed);
            }
            return Solver.solve(measured, profile, preset);
        }));
        assertTrue(refused.getMessage().contains("could not be written"), refused.getMessage());
    }
}
