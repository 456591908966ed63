// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import java.util.Locale;
import org.evenstop.engine.parameter.Parameter;
import org.evenstop.engine.parameter.Parameter.Option;
import org.evenstop.engine.parameter.Parameter.Type;
import org.evenstop.engine.parameter.ParameterTable;

/** Writes the files that are made from the parameter table: the C header, the C table and the document. */
final class ParameterFiles {
    private static final String MADE = "Generated from java/engine ParameterTable; do not edit. To write it anew:\n"
        + " * mvn -pl java/bridge -am test -Dtest=ParameterFilesTest -Dsurefire.failIfNoSpecifiedTests=false -Devenstop.regenerate=true";

    private ParameterFiles() {
    }

    static String header() {
        StringBuilder out = new StringBuilder();
        out.append("/* SPDX-License-Identifier: Apache-2.0\n *\n * The parameters of the plug-in by number.\n * ").append(MADE).append("\n */\n");
        out.append("#ifndef EVENSTOP_PARAMETERS_H\n#define EVENSTOP_PARAMETERS_H\n\n");
        out.append("typedef enum EvParameterId {\n");
        for (Parameter parameter : ParameterTable.ALL) {
            out.append("  ").append(constant(parameter.name())).append(",\n");
        }
        out.append("  EV_PARAMETER_COUNT\n} EvParameterId;\n\n");
        out.append("typedef struct EvOption {\n  const char *name; /* what the engine calls it */\n  const char *label;\n} EvOption;\n\n");
        out.append("/* Field for field as org.evenstop.engine.parameter.Parameter documents them. */\n");
        out.append("typedef struct EvParameter {\n");
        out.append("  const char *type; /* a kOfxParamType... value */\n  const char *name, *label, *hint, *parent;\n");
        out.append("  double number, min, max, display_min, display_max;\n  const char *text;\n");
        out.append("  const EvOption *options;\n  int option_count;\n  int animates, secret, rerenders, solves, shown_only, is_file;\n} EvParameter;\n\n");
        out.append("extern const EvParameter ev_parameters[EV_PARAMETER_COUNT];\n\n#endif\n");
        return out.toString();
    }

    static String table() {
        StringBuilder out = new StringBuilder();
        out.append("/* SPDX-License-Identifier: Apache-2.0\n *\n * The parameters of the plug-in as data.\n * ").append(MADE).append("\n */\n");
        out.append("#include \"parameters.h\"\n\n#include \"openfx.h\"\n\n");
        for (Parameter parameter : ParameterTable.ALL) {
            if (parameter.options().isEmpty()) {
                continue;
            }
            out.append("static const EvOption ").append(parameter.name()).append("_options[] = {\n");
            for (Option option : parameter.options()) {
                out.append("  {").append(quoted(option.name())).append(", ").append(quoted(option.label())).append("},\n");
            }
            out.append("};\n\n");
        }
        out.append("const EvParameter ev_parameters[EV_PARAMETER_COUNT] = {\n");
        for (Parameter p : ParameterTable.ALL) {
            boolean choice = p.type() == Type.CHOICE;
            out.append("  [").append(constant(p.name())).append("] =\n    {").append(ofxType(p.type())).append(", ").append(quoted(p.name()))
                .append(", ").append(quoted(p.label())).append(",\n     ").append(quoted(p.hint())).append(",\n     ")
                .append(quoted(p.parent())).append(", ")
                .append(number(p.number())).append(", ").append(number(p.min())).append(", ").append(number(p.max())).append(", ")
                .append(number(p.displayMin())).append(", ").append(number(p.displayMax())).append(",\n     ").append(quoted(p.text()))
                .append(", ").append(choice ? p.name() + "_options" : "0").append(", ").append(p.options().size()).append(", ")
                .append(flag(p.animates())).append(", ").append(flag(p.secret())).append(", ").append(flag(p.rerenders())).append(", ")
                .append(flag(p.solves())).append(", ").append(flag(p.type() == Type.LABEL)).append(", ").append(flag(p.type() == Type.FILE))
                .append("},\n");
        }
        out.append("};\n");
        return out.toString();
    }

    static String document() {
        StringBuilder out = new StringBuilder();
        out.append("<!-- SPDX-License-Identifier: Apache-2.0 -->\n<!-- Generated from the parameter table by ParameterFilesTest; do not edit. -->\n");
        out.append("# Parameters of the plug-in\n\n");
        out.append("Levels are percent of the video scale: 0 is black, 100 nominal white. Names in `code` are what projects and scripts use;\n");
        out.append("they, the defaults and the order of choices stay the same for ever.\n");
        for (Parameter group : ParameterTable.ALL) {
            if (group.type() == Type.GROUP) {
                out.append("\n## ").append(group.label()).append("\n\n");
                rows(out, group.name(), false);
            }
        }
        out.append("\n## Hidden\n\nKept in the project, never shown.\n\n");
        rows(out, "", true);
        return out.toString();
    }

    private static void rows(StringBuilder out, String parent, boolean secret) {
        out.append("| control | name | kind | default | range | over time | what it does |\n|---|---|---|---|---|---|---|\n");
        for (Parameter p : ParameterTable.ALL) {
            if (p.type() == Type.GROUP || !p.parent().equals(parent) || p.secret() != secret) {
                continue;
            }
            out.append("| ").append(p.label()).append(" | `").append(p.name()).append("` | ").append(p.type().name().toLowerCase(Locale.ROOT))
                .append(" | ").append(shownDefault(p)).append(" | ").append(range(p)).append(" | ").append(p.animates() ? "yes" : "no")
                .append(" | ").append(p.hint()).append(" |\n");
        }
    }

    private static String shownDefault(Parameter p) {
        return switch (p.type()) {
            case DOUBLE -> number(p.number());
            case CHOICE -> "`" + p.options().get((int) p.number()).name() + "`";
            case BOOLEAN -> p.number() != 0 ? "on" : "off";
            case STRING, LABEL, FILE -> p.text().isEmpty() ? "empty" : "\"" + p.text() + "\"";
            case GROUP, BUTTON -> "";
        };
    }

    private static String range(Parameter p) {
        if (p.type() == Type.DOUBLE) {
            return number(p.min()) + " to " + number(p.max()) + " " + p.unit();
        }
        StringBuilder out = new StringBuilder();
        for (Option option : p.options()) {
            out.append(out.length() == 0 ? "" : ", ").append('`').append(option.name()).append("` ").append(option.label());
        }
        return out.toString();
    }

    private static String ofxType(Type type) {
        return switch (type) {
            case GROUP -> "kOfxParamTypeGroup";
            case CHOICE -> "kOfxParamTypeChoice";
            case BOOLEAN -> "kOfxParamTypeBoolean";
            case DOUBLE -> "kOfxParamTypeDouble";
            case STRING, LABEL, FILE -> "kOfxParamTypeString";
            case BUTTON -> "kOfxParamTypePushButton";
        };
    }

    private static String constant(String name) {
        return "EV_" + name.replaceAll("([A-Z])", "_$1").toUpperCase(Locale.ROOT);
    }

    private static String number(double value) {
        return value == Math.rint(value) ? Long.toString((long) value) : Double.toString(value);
    }

    private static String flag(boolean value) {
        return value ? "1" : "0";
    }

    private static String quoted(String text) {
        return '"' + text.replace("\\", "\\\\").replace("\"", "\\\"") + '"';
    }
}
