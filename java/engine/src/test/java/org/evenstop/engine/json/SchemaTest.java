// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assertions.fail;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.BooleanNode;
import com.fasterxml.jackson.databind.node.DoubleNode;
import com.fasterxml.jackson.databind.node.NullNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import com.fasterxml.jackson.databind.node.TextNode;
import com.networknt.schema.Error;
import com.networknt.schema.InputFormat;
import com.networknt.schema.Schema;
import com.networknt.schema.SchemaLocation;
import com.networknt.schema.SchemaRegistry;
import com.networknt.schema.SpecificationVersion;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import org.evenstop.engine.InputException;
import org.junit.jupiter.api.Test;

/**
 * The JSON Schemas and the reader say the same. A schema can not say that numbers rise from knot to knot, that two arrays are of one
 * length, or that one field lies above another: there the reader is the stricter. It is never the laxer.
 */
class SchemaTest {
    private static final ObjectMapper MAPPER = new ObjectMapper();
    private static final SchemaRegistry REGISTRY = SchemaRegistry.withDefaultDialect(SpecificationVersion.DRAFT_2020_12);

    private static Schema schema(String kind) {
        return REGISTRY.getSchema(Examples.shipped("schema/" + kind + ".schema.json"), InputFormat.JSON);
    }

    private static boolean isRead(String kind, String text) {
        try {
            switch (kind) {
                case "profile" -> EvenstopFiles.profileFromJson(text, "f.json");
                case "preset" -> EvenstopFiles.presetFromJson(text, "f.json");
                case "measurement" -> EvenstopFiles.measurementFromJson(text, "f.json");
                default -> EvenstopFiles.correctionFromJson(text, "f.json");
            }
            return true;
        } catch (InputException e) {
            return false;
        }
    }

    /** Every shipped file and example with its kind. */
    private static Map<String, String> files() {
        Map<String, String> files = new LinkedHashMap<>();
        EvenstopFiles.profileNames().forEach(n -> files.put("profiles/" + n + ".json", "profile"));
        EvenstopFiles.presetNames().forEach(n -> files.put(n + ".json", "preset"));
        files.put("examples/measurement.json", "measurement");
        files.put("examples/correction.json", "correction");
        return files;
    }

    @Test
    void schemasAreSchemas() {
        Schema meta = REGISTRY.getSchema(SchemaLocation.of("https://json-schema.org/draft/2020-12/schema"));
        for (String kind : List.of("profile", "preset", "measurement", "correction")) {
            assertEquals(List.of(), meta.validate(Examples.shipped("schema/" + kind + ".schema.json"), InputFormat.JSON), kind);
        }
        assertFalse(meta.validate("{\"type\": 5}", InputFormat.JSON).isEmpty(), "the meta-schema does look");
    }

    @Test
    void shippedFilesAndExamplesAreValidAndRead() {
        files().forEach((name, kind) -> {
            List<Error> errors = schema(kind).validate(Examples.shipped(name), InputFormat.JSON);
            assertEquals(List.of(), errors, name);
            assertTrue(isRead(kind, Examples.shipped(name)), name);
            for (String other : List.of("profile", "preset", "measurement", "correction")) {
                assertEquals(other.equals(kind), schema(other).validate(Examples.shipped(name), InputFormat.JSON).isEmpty(), name + " as " + other);
                assertEquals(other.equals(kind), isRead(other, Examples.shipped(name)), name + " as " + other);
            }
        });
    }

    /** Fields are taken out, set to null and to other types, and added, one at a time, everywhere: both accept or both refuse. */
    @Test
    void readerAndSchemaAgreeOnShape() throws Exception {
        int tried = 0;
        for (Map.Entry<String, String> file : files().entrySet()) {
            String kind = file.getValue();
            Schema schema = schema(kind);
            JsonNode root = MAPPER.readTree(Examples.shipped(file.getKey()));
            List<ObjectNode> objects = new ArrayList<>();
            collect(root, objects);
            for (ObjectNode object : objects) {
                for (String field : names(object)) {
                    JsonNode kept = object.get(field);
                    for (JsonNode other : new JsonNode[] {null, NullNode.instance, BooleanNode.TRUE, new TextNode("x y"), new DoubleNode(1.5),
                        MAPPER.createArrayNode(), MAPPER.createObjectNode()}) {
                        if (other == null) {
                            object.remove(field);
                        } else {
                            object.set(field, other);
                        }
                        compare(kind, schema, root, file.getKey() + ": " + field + " = " + other, other instanceof DoubleNode);
                        tried++;
                    }
                    object.set(field, kept);
                }
                object.put("surprise", 1);
                assertFalse(isRead(kind, root.toString()), "an unknown field");
                compare(kind, schema, root, "an unknown field", false);
                object.remove("surprise");
            }
            assertTrue(schema.validate(root).isEmpty(), "all was put back");
        }
        assertTrue(tried > 1000, "only " + tried + " changes were tried");
    }

    /** Numbers far and near outside their range, at every place that holds one: what the reader takes, the schema takes. */
    @Test
    void readerTakesNothingThatTheSchemaRefuses() throws Exception {
        int refused = 0;
        for (Map.Entry<String, String> file : files().entrySet()) {
            String kind = file.getValue();
            Schema schema = schema(kind);
            JsonNode root = MAPPER.readTree(Examples.shipped(file.getKey()));
            List<ObjectNode> objects = new ArrayList<>();
            collect(root, objects);
            for (ObjectNode object : objects) {
                for (String field : names(object)) {
                    JsonNode kept = object.get(field);
                    List<JsonNode> others = new ArrayList<>();
                    if (kept.isNumber()) {
                        for (double v : new double[] {-1e9, -21, -7.01, -0.01, 0, 0.04, 2.01, 4.01, 6.01, 12.01, 30.01, 110.01, 251, 1001, 1e9}) {
                            others.add(new DoubleNode(v));
                        }
                    } else if (kept.isArray() && !kept.isEmpty() && kept.get(0).isNumber()) {
                        for (double v : new double[] {-1001, -20.01, -7.01, 0, 0.04, 4.01, 12.01, 109.2, 110.01, 1001}) {
                            ArrayNode changed = kept.deepCopy();
                            changed.set(changed.size() / 2, new DoubleNode(v));
                            others.add(changed);
                        }
                        ArrayNode longer = kept.deepCopy();
                        while (longer.size() < 514) {
                            longer.add(longer.get(longer.size() - 1));
                        }
                        others.add(longer);
                    }
                    for (JsonNode other : others) {
                        object.set(field, other);
                        refused += compare(kind, schema, root, file.getKey() + ": " + field + " = " + other, true) ? 0 : 1;
                    }
                    object.set(field, kept);
                }
            }
        }
        assertTrue(refused > 500, "only " + refused + " changes were refused");
    }

    /** @return whether the reader took it */
    private static boolean compare(String kind, Schema schema, JsonNode root, String what, boolean readerMayBeStricter) {
        boolean read = isRead(kind, root.toString());
        boolean valid = schema.validate(root).isEmpty();
        if (read && !valid || valid && !read && !readerMayBeStricter) {
            fail(what + ": the reader " + (read ? "takes" : "refuses") + " it, the schema " + (valid ? "takes" : "refuses") + " it "
                + schema.validate(root));
        }
        return read;
    }

    private static List<String> names(ObjectNode object) {
        List<String> names = new ArrayList<>();
        object.fieldNames().forEachRemaining(names::add);
        return names;
    }

    private static void collect(JsonNode node, List<ObjectNode> objects) {
        if (node instanceof ObjectNode object) {
            objects.add(object);
        }
        node.forEach(child -> collect(child, objects));
    }
}
