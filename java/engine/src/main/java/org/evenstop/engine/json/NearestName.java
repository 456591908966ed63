// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

/** Finds what somebody may have meant by a name that is not known: of a field, a preset, a command. */
public final class NearestName {
    private NearestName() {
    }

    /** The name that takes fewest single-letter edits, if not more than a third of its length; else null. */
    public static String of(String name, Iterable<String> names) {
        String best = null;
        int least = Integer.MAX_VALUE;
        for (String candidate : names) {
            int edits = edits(name.toLowerCase(java.util.Locale.ROOT), candidate.toLowerCase(java.util.Locale.ROOT));
            if (edits < least && edits <= Math.max(1, candidate.length() / 3)) {
                least = edits;
                best = candidate;
            }
        }
        return best;
    }

    /** Letters to insert, drop or replace (V. I. Levenshtein, 1966). */
    private static int edits(String a, String b) {
        int[] row = new int[b.length() + 1];
        for (int j = 0; j <= b.length(); j++) {
            row[j] = j;
        }
        for (int i = 1; i <= a.length(); i++) {
            int diagonal = row[0];
            row[0] = i;
            for (int j = 1; j <= b.length(); j++) {
                int cost = Math.min(Math.min(row[j], row[j - 1]) + 1, diagonal + (a.charAt(i - 1) == b.charAt(j - 1) ? 0 : 1));
                diagonal = row[j];
                row[j] = cost;
            }
        }
        return row[b.length()];
    }
}
