// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.JsonNodeFactory;
import com.fasterxml.jackson.databind.node.ObjectNode;

/**
 * Reads the JSON texts that a first frame waits for without the streaming parser: that one needs decimals of any size, for which JDK 25 works
 * out powers of five of many thousand digits when it is first asked for one.
 *
 * <p>Gives up, and says nothing about why, on everything out of the ordinary: what is no JSON, an escape other than of a quote, a backslash, a
 * slash or an end of line, a control character, a whole number of more than nine digits, any number of more than 24 characters, a field that
 * comes twice, deep nesting, a long name, a long text. What it reads is what the streaming parser would read.
 */
final class PlainJson {
    private static final JsonNodeFactory NODES = JsonNodeFactory.instance;
    /** These and the next are below what the streaming parser is allowed. */
    private static final int MOST_NESTED = 12;
    private static final int LONGEST_TEXT = 1_000_000;
    private static final int LONGEST_NUMBER = 24;
    private static final int LONGEST_INT = 9;
    private static final int LONGEST_NAME = 100;

    private final String text;
    private int at;
    private int depth;

    private PlainJson(String text) {
        this.text = text;
    }

    /** The one value of a text, an object or array; null where the streaming parser has to look. */
    static JsonNode read(String text) {
        if (text.length() > LONGEST_TEXT) {
            return null;
        }
        PlainJson reader = new PlainJson(text);
        char first = reader.next();
        JsonNode root = first == '{' || first == '[' ? reader.value(first) : null;
        return root != null && reader.next() == 0 ? root : null;
    }

    /** The next character that is no space, which is passed; 0 at the end. */
    private char next() {
        while (at < text.length()) {
            char c = text.charAt(at++);
            if (c != ' ' && c != '\n' && c != '\r' && c != '\t') {
                // A zero byte would look like the end.
                return c == 0 ? 1 : c;
            }
        }
        return 0;
    }

    /** The value that begins with a character that was passed; null gives up. */
    private JsonNode value(char first) {
        return switch (first) {
            case '{' -> object();
            case '[' -> array();
            case '"' -> {
                String string = string();
                yield string == null ? null : NODES.textNode(string);
            }
            case 't' -> word("rue") ? NODES.booleanNode(true) : null;
            case 'f' -> word("alse") ? NODES.booleanNode(false) : null;
            case 'n' -> word("ull") ? NODES.nullNode() : null;
            default -> first == '-' || isDigit(first) ? number() : null;
        };
    }

    private JsonNode object() {
        if (++depth > MOST_NESTED) {
            return null;
        }
        ObjectNode object = NODES.objectNode();
        char c = next();
        while (c != '}') {
            String name = c == '"' ? string() : null;
            if (name == null || name.length() > LONGEST_NAME || object.has(name) || next() != ':') {
                return null;
            }
            JsonNode value = value(next());
            c = next();
            if (value == null || c != ',' && c != '}') {
                return null;
            }
            object.set(name, value);
            if (c == ',') {
                c = next();
                if (c != '"') {
                    return null;
                }
            }
        }
        depth--;
        return object;
    }

    private JsonNode array() {
        if (++depth > MOST_NESTED) {
            return null;
        }
        ArrayNode array = NODES.arrayNode();
        char c = next();
        while (c != ']') {
            JsonNode value = value(c);
            c = next();
            if (value == null || c != ',' && c != ']') {
                return null;
            }
            array.add(value);
            if (c == ',') {
                c = next();
                if (c == ']') {
                    return null;
                }
            }
        }
        depth--;
        return array;
    }

    /** The rest of a string, its quote was passed. */
    private String string() {
        StringBuilder unescaped = null;
        int from = at;
        while (at < text.length()) {
            char c = text.charAt(at++);
            if (c == '"') {
                String last = text.substring(from, at - 1);
                return unescaped == null ? last : unescaped.append(last).toString();
            }
            if (c < ' ') {
                return null;
            }
            if (c == '\\') {
                char escaped = at < text.length() ? text.charAt(at++) : 0;
                if (escaped != '"' && escaped != '\\' && escaped != '/' && escaped != 'n') {
                    return null;
                }
                unescaped = unescaped == null ? new StringBuilder() : unescaped;
                unescaped.append(text, from, at - 2).append(escaped == 'n' ? '\n' : escaped);
                from = at;
            }
        }
        return null;
    }

    private boolean word(String rest) {
        boolean is = text.startsWith(rest, at);
        at += rest.length();
        return is && ends();
    }

    /** Whether a number or word is over here. */
    private boolean ends() {
        return at < text.length() && " ,]}\n\r\t".indexOf(text.charAt(at)) >= 0;
    }

    /** A number whose first character was passed: {@code -?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][+-]?[0-9]+)?}. */
    private JsonNode number() {
        int from = --at;
        passIf('-');
        int whole = at;
        int digits = passDigits();
        if (digits == 0 || digits > 1 && text.charAt(whole) == '0') {
            return null;
        }
        boolean isWhole = true;
        if (passIf('.')) {
            isWhole = false;
            if (passDigits() == 0) {
                return null;
            }
        }
        if (passIf('e') || passIf('E')) {
            isWhole = false;
            if (!passIf('+')) {
                passIf('-');
            }
            if (passDigits() == 0) {
                return null;
            }
        }
        if (!ends() || at - from > LONGEST_NUMBER || isWhole && digits > LONGEST_INT) {
            return null;
        }
        String number = text.substring(from, at);
        if (isWhole) {
            return NODES.numberNode(Integer.parseInt(number));
        }
        double value = Double.parseDouble(number);
        return Double.isInfinite(value) ? null : NODES.numberNode(value);
    }

    private boolean passIf(char wanted) {
        boolean is = at < text.length() && text.charAt(at) == wanted;
        at += is ? 1 : 0;
        return is;
    }

    private int passDigits() {
        int from = at;
        while (at < text.length() && isDigit(text.charAt(at))) {
            at++;
        }
        return at - from;
    }

    private static boolean isDigit(char c) {
        return c >= '0' && c <= '9';
    }
}
