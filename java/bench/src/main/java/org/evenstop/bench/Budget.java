// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.util.Locale;

/**
 * A number that a run must keep to.
 *
 * @param what     is limited, e.g. {@code three curves, UHD RGBA float, 1 thread: time to that of a copy}
 * @param limit    largest (for a goal of "at least": smallest) allowed value
 * @param measured in this run; NaN when it could not be measured here
 * @param unit     of both: {@code x}, {@code ms}, {@code MB}, {@code bytes}
 * @param atLeast  true: the measured value must reach the limit; false: must not exceed it
 * @param binding  true: missing it fails {@code --check}; false: a goal, of which the table only says how near
 */
record Budget(String what, double limit, double measured, String unit, boolean atLeast, boolean binding) {
    static Budget atMost(String what, double limit, double measured, String unit) {
        return new Budget(what, limit, measured, unit, false, true);
    }

    static Budget goal(String what, double limit, double measured) {
        return new Budget(what, limit, measured, "x", true, false);
    }

    boolean wasMeasured() {
        return !Double.isNaN(measured);
    }

    boolean isMet() {
        return wasMeasured() && (atLeast ? measured >= limit : measured <= limit);
    }

    /** {@code met}, {@code MISSED}, {@code near} or {@code not measured}. */
    String verdict() {
        return !wasMeasured() ? "not measured" : isMet() ? "met" : binding ? "MISSED" : "not reached";
    }

    private String number(double value) {
        boolean whole = unit.equals("bytes");
        return String.format(Locale.ROOT, whole ? "%.0f %s" : unit.equals("x") ? "%.2f %s" : "%.1f %s", value, unit);
    }

    String limitText() {
        return (atLeast ? "at least " : "at most ") + number(limit);
    }

    String measuredText() {
        return wasMeasured() ? number(measured) : "-";
    }
}
