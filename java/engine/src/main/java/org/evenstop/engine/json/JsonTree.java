// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonParseException;
import com.fasterxml.jackson.core.JsonParser;
import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.core.JsonToken;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.JsonNodeFactory;
import com.fasterxml.jackson.databind.node.MissingNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.IOException;
import java.io.UncheckedIOException;

/**
 * Reads JSON text into a tree: texts as we write them by {@link PlainJson}, all others with the streaming parser alone. A whole object mapper
 * sets up date formats and locales first, which in a cold process costs more than reading the text, and a plug-in's first frame waits for it.
 */
final class JsonTree {
    private static final JsonNodeFactory NODES = JsonNodeFactory.instance;

    private JsonTree() {
    }

    /**
     * @param factory bounds nesting, lengths and what may stand in the text
     * @return the one value of the text, or a missing node when it holds none
     * @throws JsonProcessingException when the text is not JSON, or goes on after the value
     */
    static JsonNode read(JsonFactory factory, String text) throws JsonProcessingException {
        JsonNode plain = PlainJson.read(text);
        return plain != null ? plain : parsed(factory, text);
    }

    /** By the streaming parser, which says where a text is wrong. */
    static JsonNode parsed(JsonFactory factory, String text) throws JsonProcessingException {
        try (JsonParser parser = factory.createParser(text)) {
            if (parser.nextToken() == null) {
                return MissingNode.getInstance();
            }
            JsonNode root = value(parser);
            if (parser.nextToken() != null) {
                throw new JsonParseException(parser, "Trailing token after the value", parser.currentTokenLocation());
            }
            return root;
        } catch (JsonProcessingException wrong) {
            throw wrong;
        } catch (IOException impossible) {
            throw new UncheckedIOException(impossible); // text in memory has no read errors
        }
    }

    /** The value that begins at the current token; the parser is left on its last token. */
    private static JsonNode value(JsonParser parser) throws IOException {
        switch (parser.currentToken()) {
            case START_OBJECT -> {
                ObjectNode object = NODES.objectNode();
                while (parser.nextToken() != JsonToken.END_OBJECT) {
                    String name = parser.currentName();
                    parser.nextToken();
                    object.set(name, value(parser));
                }
                return object;
            }
            case START_ARRAY -> {
                ArrayNode array = NODES.arrayNode();
                while (parser.nextToken() != JsonToken.END_ARRAY) {
                    array.add(value(parser));
                }
                return array;
            }
            case VALUE_STRING -> {
                return NODES.textNode(parser.getText());
            }
            case VALUE_NUMBER_INT -> {
                return switch (parser.getNumberType()) {
                    case INT -> NODES.numberNode(parser.getIntValue());
                    case LONG -> NODES.numberNode(parser.getLongValue());
                    default -> NODES.numberNode(parser.getBigIntegerValue());
                };
            }
            case VALUE_NUMBER_FLOAT -> {
                return NODES.numberNode(parser.getDoubleValue());
            }
            case VALUE_TRUE -> {
                return NODES.booleanNode(true);
            }
            case VALUE_FALSE -> {
                return NODES.booleanNode(false);
            }
            case VALUE_NULL -> {
                return NODES.nullNode();
            }
            default -> throw new JsonParseException(parser, "a value was expected", parser.currentTokenLocation());
        }
    }
}
