// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import java.io.PrintWriter;
import java.util.Locale;
import org.evenstop.batch.render.ProgressListener;

/**
 * Progress on the standard error stream: one line rewritten in place with the time left on a terminal, a plain line for each clip
 * and then every ten seconds in a log.
 */
final class ProgressLine implements ProgressListener {
    private static final long TERMINAL_STEP = 200_000_000L;
    private static final long LOG_STEP = 10_000_000_000L;

    private final PrintWriter err;
    private final boolean terminal;
    private final int clips;
    private int clip;
    private String name = "";
    private String stage = "";
    private long stageStarted;
    private long lastShown;
    private int shownLength;

    ProgressLine(PrintWriter err, boolean terminal, int clips) {
        this.err = err;
        this.terminal = terminal;
        this.clips = clips;
    }

    synchronized void begin(String clipName) {
        clip++;
        name = Terminal.plain(clipName);
        stage = "";
        lastShown = System.nanoTime();
        if (!terminal) {
            err.println("clip " + clip + " of " + clips + ": " + name);
        }
    }

    @Override
    public synchronized void at(String newStage, long done, long all) {
        long now = System.nanoTime();
        if (!newStage.equals(stage)) {
            stage = newStage;
            stageStarted = now;
        }
        if (now - lastShown < (terminal ? TERMINAL_STEP : LOG_STEP)) {
            return;
        }
        lastShown = now;
        String text = "clip " + clip + " of " + clips + ": " + name + ": " + stage + " " + done + (all > 0 ? " of " + all : "") + " frames"
            + left(done, all, (now - stageStarted) / 1e9);
        if (terminal) {
            String cut = text.length() > 110 ? text.substring(0, 50) + "..." + text.substring(text.length() - 57) : text;
            err.print("\r" + cut + " ".repeat(Math.max(0, shownLength - cut.length())));
            err.flush();
            shownLength = cut.length();
        } else {
            err.println(text);
        }
    }

    private static String left(long done, long all, double seconds) {
        if (done < 2 || all <= done) {
            return "";
        }
        long left = Math.round(seconds / done * (all - done));
        return left >= 60 ? String.format(Locale.ROOT, ", %d min %02d s left", left / 60, left % 60) : ", " + left + " s left";
    }

    /** Removes the line, so that other output starts on a clean one. */
    synchronized void clear() {
        if (terminal && shownLength > 0) {
            err.print("\r" + " ".repeat(shownLength) + "\r");
            err.flush();
            shownLength = 0;
        }
    }
}
