// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import org.evenstop.engine.measure.LevelSummary;
import org.evenstop.engine.measure.Measurement;

/** Levels as lines of text, in percent with one decimal. */
final class LevelTable {
    private static final int NAME_WIDTH = 28;
    private static final String LEVELS = "   min   0.5     1    10    50    90    99  99.5   max";

    private LevelTable() {
    }

    static String measureHeader() {
        return pad("clip (levels in percent)") + LEVELS + " |  clipped high/low |  skin  level | subject";
    }

    static String measureRow(Measurement m) {
        String skin = m.skin().isSubject() ? String.format(Locale.ROOT, "%5.1f%% %6.1f", 100 * m.skin().share(), m.skin().median()) : "    -       -";
        return pad(Terminal.plain(m.clip())) + row(m.levels()) + String.format(Locale.ROOT, " | %6.2f%% / %6.2f%% | %s | %6.1f", 100 * m.clippedHigh(),
            100 * m.clippedLow(), skin, m.subject());
    }

    static List<String> beforeAndAfter(LevelSummary before, LevelSummary after) {
        List<String> lines = new ArrayList<>();
        lines.add("  level %  " + LEVELS);
        lines.add("  before   " + row(before));
        if (after != null) {
            lines.add("  after    " + row(after));
        }
        return lines;
    }

    private static String row(LevelSummary l) {
        return String.format(Locale.ROOT, "%6.1f%6.1f%6.1f%6.1f%6.1f%6.1f%6.1f%6.1f%6.1f", l.min(), l.p0_5(), l.p1(), l.p10(), l.p50(), l.p90(),
            l.p99(), l.p99_5(), l.max());
    }

    private static String pad(String name) {
        String shown = name.length() > NAME_WIDTH ? "..." + name.substring(name.length() - NAME_WIDTH + 3) : name;
        return shown + " ".repeat(NAME_WIDTH - shown.length());
    }
}
