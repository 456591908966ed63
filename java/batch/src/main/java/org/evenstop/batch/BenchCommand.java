// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import java.util.concurrent.Callable;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Spec;

/**
 * {@code evenstop bench} and {@code evenstop plugin bench} belong to the module java/bench, which the launcher starts; this keeps them
 * in the list of commands and says so to those who start the jar themselves.
 */
@Command(name = "bench", mixinStandardHelpOptions = true,
    description = "Times kernels and plug-in beside a copy of the same frame. The launcher ./evenstop does it.")
final class BenchCommand implements Callable<Integer> {
    @Spec
    private CommandSpec spec;

    @Override
    public Integer call() {
        String name = spec.qualifiedName().replaceFirst("^evenstop ", "");
        spec.commandLine().getErr().println(name + " needs what only the launcher can build and start: run ./evenstop " + name
            + " in the source tree");
        return Main.USAGE;
    }
}
