// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine;

import java.io.BufferedReader;
import java.io.IOException;
import java.io.InputStreamReader;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Objects;

/** Tables of published numbers among the test resources. Each file names its source in comment lines at its top. */
public final class Published {
    private Published() {
    }

    /** Rows of a table, each by column name; nothing is quoted in these files. */
    public static List<Map<String, String>> rows(String table) {
        List<Map<String, String>> rows = new ArrayList<>();
        try (BufferedReader in = new BufferedReader(new InputStreamReader(
            Objects.requireNonNull(Published.class.getResourceAsStream("/published/" + table), table), StandardCharsets.UTF_8))) {
            String[] names = null;
            for (String line = in.readLine(); line != null; line = in.readLine()) {
                if (line.startsWith("#")) {
                    continue;
                }
                String[] cells = line.split(",", -1);
                if (names == null) {
                    names = cells;
                    continue;
                }
                if (cells.length != names.length) {
                    throw new IllegalStateException(table + ": " + line);
                }
                Map<String, String> row = new LinkedHashMap<>();
                for (int i = 0; i < cells.length; i++) {
                    row.put(names[i], cells[i]);
                }
                rows.add(row);
            }
        } catch (IOException e) {
            throw new UncheckedIOException(e);
        }
        return rows;
    }

    public static double number(Map<String, String> row, String column) {
        return Double.parseDouble(row.get(column));
    }

    public static int code(Map<String, String> row, String column) {
        return Integer.parseInt(row.get(column));
    }
}
