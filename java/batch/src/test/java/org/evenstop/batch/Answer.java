// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import java.io.ByteArrayOutputStream;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.util.stream.Stream;

/** What one run of the command line came to: exit code, standard output, standard error. */
public record Answer(int code, String out, String err) {
    /** Runs the command in this process; arguments are taken as text. */
    public static Answer evenstop(Object... arguments) {
        ByteArrayOutputStream out = new ByteArrayOutputStream();
        ByteArrayOutputStream err = new ByteArrayOutputStream();
        String[] texts = Stream.of(arguments).map(String::valueOf).toArray(String[]::new);
        int code = Main.run(texts, new PrintStream(out, true, StandardCharsets.UTF_8), new PrintStream(err, true, StandardCharsets.UTF_8));
        return new Answer(code, out.toString(StandardCharsets.UTF_8), err.toString(StandardCharsets.UTF_8));
    }
}
