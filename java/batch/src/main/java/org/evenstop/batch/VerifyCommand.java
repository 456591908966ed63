// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import java.util.concurrent.Callable;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Spec;

/** {@code evenstop verify} belongs to the launcher, which can build; this says so to those who start the jar themselves. */
@Command(name = "verify", mixinStandardHelpOptions = true, description = "Runs all tests. The launcher ./evenstop does it.")
final class VerifyCommand implements Callable<Integer> {
    @Spec
    private CommandSpec spec;

    @Override
    public Integer call() {
        spec.commandLine().getErr().println("verify builds and runs all tests, which only the launcher can: run ./evenstop verify in the source tree");
        return Main.USAGE;
    }
}
