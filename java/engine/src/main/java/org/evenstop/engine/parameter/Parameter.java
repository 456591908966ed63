// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.parameter;

import java.util.HashSet;
import java.util.List;
import java.util.Set;

/**
 * One control of the plug-in, as data. Everything that shows, stores or documents parameters is made from these.
 *
 * @param name       script name: ASCII letters and digits, for ever the same
 * @param type       what kind of value it has
 * @param label      what people read beside the control
 * @param hint       what it does, with its unit; one or two sentences
 * @param parent     name of the group it stands in; empty at top level
 * @param unit       unit of a number in words ("stops", "percent"); empty when it has none
 * @param number     default of a number, choice (index) or boolean (0 or 1); 0 otherwise
 * @param text       default of a string; empty otherwise
 * @param min        lowest value allowed of a number; {@code displayMin} is where a slider starts
 * @param max        highest value allowed of a number; {@code displayMax} is where a slider ends
 * @param options    of a choice, in an order that is only ever added to; empty otherwise
 * @param animates   whether it may change over time
 * @param secret     whether it is hidden (state of the plug-in kept in the project)
 * @param rerenders  whether a change can change pixels
 * @param solves     whether a change asks for another correction, solved from the kept measurement
 */
public record Parameter(String name, Type type, String label, String hint, String parent, String unit, double number, String text,
                        double min, double max, double displayMin, double displayMax, List<Option> options, boolean animates,
                        boolean secret, boolean rerenders, boolean solves) {

    /**
     * Kinds of parameter. {@code LABEL} is a string on one line that is shown, not edited; {@code FILE} one that
     * holds the path of a file, which need not exist.
     */
    public enum Type { GROUP, CHOICE, BOOLEAN, DOUBLE, STRING, LABEL, FILE, BUTTON }

    /**
     * An entry of a choice.
     *
     * @param name  what scripts, files and the engine call it
     * @param label what people read
     */
    public record Option(String name, String label) {
        public Option {
            if (name.isEmpty() || label.isEmpty()) {
                throw new IllegalArgumentException("choice option '" + name + "' / '" + label + "' needs a name and a label");
            }
        }
    }

    public Parameter {
        options = List.copyOf(options);
        if (!name.matches("[a-z][A-Za-z0-9]*")) {
            throw new IllegalArgumentException("parameter name '" + name + "' must be ASCII letters and digits, a small letter first");
        }
        if (label.isEmpty() || hint.isEmpty() && type != Type.GROUP) {
            throw new IllegalArgumentException("parameter " + name + " needs a label and a hint");
        }
        if (type == Type.DOUBLE && !(min <= displayMin && displayMin < displayMax && displayMax <= max && min <= number && number <= max)) {
            throw new IllegalArgumentException("parameter " + name + ": default " + number + ", range " + min + ".." + max
                + ", shown " + displayMin + ".." + displayMax + " do not nest");
        }
        if ((type == Type.CHOICE) == options.isEmpty()) {
            throw new IllegalArgumentException("parameter " + name + ": choices, and only they, have options");
        }
        if (type == Type.CHOICE && (number != Math.rint(number) || number < 0 || number >= options.size())) {
            throw new IllegalArgumentException("parameter " + name + ": default " + number + " is not one of " + options.size() + " options");
        }
        if (animates && type != Type.DOUBLE) {
            throw new IllegalArgumentException("parameter " + name + ": only numbers may change over time");
        }
        if (solves && animates) {
            throw new IllegalArgumentException("parameter " + name + ": a clip has one correction, so what it is solved for may not change over time");
        }
        Set<String> seen = new HashSet<>();
        for (Option option : options) {
            if (!seen.add(option.name())) {
                throw new IllegalArgumentException("parameter " + name + ": option " + option.name() + " stands there twice");
            }
        }
    }

    static Parameter group(String name, String label) {
        return new Parameter(name, Type.GROUP, label, "", "", "", 0, "", 0, 0, 0, 0, List.of(), false, false, false, false);
    }

    static Parameter choice(String parent, String name, String label, String hint, Option... options) {
        return new Parameter(name, Type.CHOICE, label, hint, parent, "", 0, "", 0, 0, 0, 0, List.of(options), false, false, true, false);
    }

    static Parameter number(String parent, String name, String label, String hint, String unit, double value, double min, double max,
                            double displayMin, double displayMax, boolean animates) {
        return new Parameter(name, Type.DOUBLE, label, hint, parent, unit, value, "", min, max, displayMin, displayMax, List.of(),
            animates, false, true, false);
    }

    static Parameter toggle(String parent, String name, String label, String hint, boolean on) {
        return new Parameter(name, Type.BOOLEAN, label, hint, parent, "", on ? 1 : 0, "", 0, 0, 0, 0, List.of(), false, false, true, false);
    }

    static Parameter file(String parent, String name, String label, String hint) {
        return new Parameter(name, Type.FILE, label, hint, parent, "", 0, "", 0, 0, 0, 0, List.of(), false, false, false, false);
    }

    /** The same, and a change of it solves again. */
    Parameter solving() {
        return new Parameter(name, type, label, hint, parent, unit, number, text, min, max, displayMin, displayMax, options, animates, secret,
            rerenders, true);
    }

    static Parameter button(String parent, String name, String label, String hint) {
        return new Parameter(name, Type.BUTTON, label, hint, parent, "", 0, "", 0, 0, 0, 0, List.of(), false, false, false, false);
    }

    static Parameter label(String parent, String name, String label, String hint, String text) {
        return new Parameter(name, Type.LABEL, label, hint, parent, "", 0, text, 0, 0, 0, 0, List.of(), false, false, false, false);
    }

    static Parameter state(String name, String label, String hint, boolean rerenders) {
        return new Parameter(name, Type.STRING, label, hint, "", "", 0, "", 0, 0, 0, 0, List.of(), false, true, rerenders, false);
    }
}
