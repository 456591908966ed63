// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.TreeSet;
import org.evenstop.engine.InputException;

/** Reads the fields of one JSON object and refuses everything else: wrong types, numbers out of range, fields nobody asked for. */
final class StrictObject {
    private final String where;
    private final String path;
    private final ObjectNode node;
    private final TreeSet<String> asked = new TreeSet<>();

    StrictObject(String where, String path, JsonNode node) {
        this.where = where;
        this.path = path;
        if (!(node instanceof ObjectNode object)) {
            throw new InputException(where + ": " + (path.isEmpty() ? "the file" : path) + " must be a JSON object, not " + kindOf(node));
        }
        this.node = object;
    }

    InputException error(String field, String problem) {
        return new InputException(where + ": " + path(field) + " " + problem);
    }

    private String path(String field) {
        return path.isEmpty() ? field : path + "." + field;
    }

    private static String kindOf(JsonNode node) {
        if (node == null || node.isMissingNode()) {
            return "nothing";
        }
        return switch (node.getNodeType()) {
            case ARRAY -> "an array";
            case BOOLEAN -> node.asText();
            case NULL -> "null";
            case NUMBER -> "the number " + node.asText();
            case STRING -> "the text \"" + shortened(node.asText()) + "\"";
            case OBJECT -> "an object";
            default -> node.getNodeType().toString();
        };
    }

    private static String shortened(String text) {
        return text.length() <= 40 ? text : text.substring(0, 37) + "...";
    }

    boolean has(String field) {
        asked.add(field);
        return node.has(field) && !node.get(field).isNull();
    }

    private JsonNode required(String field, String allowed) {
        asked.add(field);
        JsonNode value = node.get(field);
        if (value == null) {
            String near = NearestName.of(field, unasked());
            throw error(field, "is missing; give " + allowed + (near == null ? "" : " (is '" + near + "' meant for it?)"));
        }
        return value;
    }

    private List<String> unasked() {
        List<String> names = new ArrayList<>();
        node.fieldNames().forEachRemaining(n -> {
            if (!asked.contains(n)) {
                names.add(n);
            }
        });
        return names;
    }

    String text(String field, int maxLength) {
        JsonNode value = required(field, "a text");
        if (!value.isTextual()) {
            throw error(field, "is " + kindOf(value) + "; give a text");
        }
        if (value.asText().length() > maxLength) {
            throw error(field, "has " + value.asText().length() + " characters; at most " + maxLength + " are allowed");
        }
        return value.asText();
    }

    String text(String field, int maxLength, String otherwise) {
        return has(field) ? text(field, maxLength) : otherwise;
    }

    double number(String field, double from, double to) {
        return checked(field, required(field, "a number from " + plain(from) + " to " + plain(to)), from, to);
    }

    double number(String field, double from, double to, double otherwise) {
        return has(field) ? number(field, from, to) : otherwise;
    }

    /** A number, or NaN where the file says null. */
    double numberOrNull(String field, double from, double to) {
        JsonNode value = required(field, "a number from " + plain(from) + " to " + plain(to) + ", or null");
        return value.isNull() ? Double.NaN : checked(field, value, from, to);
    }

    private double checked(String field, JsonNode value, double from, double to) {
        if (!value.isNumber()) {
            throw error(field, "is " + kindOf(value) + "; give a number from " + plain(from) + " to " + plain(to));
        }
        double number = value.asDouble();
        if (!Double.isFinite(number)) {
            throw error(field, "is not a finite number; give one from " + plain(from) + " to " + plain(to));
        }
        if (number < from || number > to) {
            throw error(field, plain(number) + (number > to ? " is above " + plain(to) : " is below " + plain(from))
                + "; give a number from " + plain(from) + " to " + plain(to));
        }
        return number;
    }

    int integer(String field, int from, int to) {
        JsonNode value = required(field, "a whole number from " + from + " to " + to);
        if (!value.isIntegralNumber() || !value.canConvertToInt()) {
            throw error(field, "is " + kindOf(value) + "; give a whole number from " + from + " to " + to);
        }
        return (int) checked(field, value, from, to);
    }

    double[] numbers(String field, int least, int most, double from, double to) {
        JsonNode value = required(field, "an array of " + least + " to " + most + " numbers");
        if (!value.isArray()) {
            throw error(field, "is " + kindOf(value) + "; give an array of " + least + " to " + most + " numbers");
        }
        if (value.size() < least || value.size() > most) {
            throw error(field, "has " + value.size() + " entries; give " + least + " to " + most);
        }
        double[] numbers = new double[value.size()];
        for (int i = 0; i < numbers.length; i++) {
            numbers[i] = checked(field + "[" + i + "]", value.get(i), from, to);
        }
        return numbers;
    }

    List<String> texts(String field, int most, int maxLength) {
        JsonNode value = required(field, "an array of texts");
        if (!value.isArray() || value.size() > most) {
            throw error(field, "is " + kindOf(value) + "; give an array of at most " + most + " texts");
        }
        List<String> texts = new ArrayList<>();
        for (JsonNode entry : value) {
            if (!entry.isTextual() || entry.asText().length() > maxLength) {
                throw error(field + "[" + texts.size() + "]", "is " + kindOf(entry) + "; give a text of at most " + maxLength + " characters");
            }
            texts.add(entry.asText());
        }
        return texts;
    }

    StrictObject object(String field) {
        return new StrictObject(where, path(field), required(field, "an object"));
    }

    List<StrictObject> objects(String field, int most) {
        JsonNode value = required(field, "an array of objects");
        if (!value.isArray() || value.size() > most) {
            throw error(field, "is " + kindOf(value) + "; give an array of at most " + most + " objects");
        }
        List<StrictObject> objects = new ArrayList<>();
        for (JsonNode entry : value) {
            objects.add(new StrictObject(where, path(field) + "[" + objects.size() + "]", entry));
        }
        return objects;
    }

    /** Refuses what was not asked for, with the nearest name that was. */
    void done() {
        for (Map.Entry<String, JsonNode> field : node.properties()) {
            String name = field.getKey();
            if (!asked.contains(name)) {
                String near = NearestName.of(name, asked);
                throw error(shortened(name), "is not a known field; " + (near != null ? "did you mean '" + near + "'?"
                    : "known are " + String.join(", ", asked)));
            }
        }
    }

    static String plain(double value) {
        return value == Math.rint(value) && Math.abs(value) < 1e9 ? Long.toString((long) value) : Double.toString(value);
    }
}
