// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.io.FileDescriptor;
import java.io.FileOutputStream;
import java.io.IOException;
import java.io.PrintStream;
import java.io.PrintWriter;
import java.nio.charset.StandardCharsets;
import java.util.Arrays;
import java.util.concurrent.Callable;
import picocli.CommandLine;
import picocli.CommandLine.Help.Ansi;

/**
 * What the launcher starts for {@code evenstop bench} and {@code evenstop plugin bench}; {@code evenstop bench jmh} hands over to JMH.
 * Exit codes: 0 done, 1 a budget is missed with {@code --check} or something gave a wrong picture, 2 wrong use.
 */
public final class Main {
    static final int OK = 0;
    static final int MISSED = 1;
    static final int USAGE = 2;

    private Main() {
    }

    public static void main(String[] args) throws IOException {
        String[] rest = Arrays.copyOfRange(args, Math.min(1, args.length), args.length);
        if (args.length > 1 && args[0].equals("bench") && args[1].equals("jmh")) {
            org.openjdk.jmh.Main.main(Arrays.copyOfRange(args, 2, args.length));
            return;
        }
        PrintStream out = new PrintStream(new FileOutputStream(FileDescriptor.out), false, StandardCharsets.UTF_8);
        PrintStream err = new PrintStream(new FileOutputStream(FileDescriptor.err), true, StandardCharsets.UTF_8);
        int code;
        if (args.length > 0 && args[0].equals("bench")) {
            code = run(new BenchCommand(), "evenstop bench", rest, out, err);
        } else if (args.length > 0 && args[0].equals("plugin-bench")) {
            code = run(new PluginBenchCommand(), "evenstop plugin bench", rest, out, err);
        } else {
            err.println("evenstop-bench: give bench or plugin-bench; the launcher ./evenstop does it");
            code = USAGE;
        }
        out.flush();
        // FFmpeg and OpenCV keep threads of their own.
        System.exit(out.checkError() ? Math.max(code, MISSED) : code);
    }

    static int run(Callable<Integer> command, String name, String[] args, PrintStream out, PrintStream err) {
        CommandLine line = new CommandLine(command).setCommandName(name);
        line.setOut(new PrintWriter(out, true, StandardCharsets.UTF_8));
        line.setErr(new PrintWriter(err, true, StandardCharsets.UTF_8));
        line.setUsageHelpWidth(100);
        line.setColorScheme(CommandLine.Help.defaultColorScheme(Ansi.OFF));
        line.setParameterExceptionHandler((wrong, given) -> {
            wrong.getCommandLine().getErr().println(name + ": " + wrong.getMessage() + "; see " + name + " --help");
            return USAGE;
        });
        line.setExecutionExceptionHandler((failed, running, parsed) -> {
            running.getErr().println(name + ": " + (failed instanceof WrongResultException ? failed.getMessage()
                : failed.getMessage() == null ? failed.toString() : failed.getMessage()));
            if ("1".equals(System.getenv("EVENSTOP_DEBUG"))) {
                failed.printStackTrace(running.getErr());
            }
            return MISSED;
        });
        return line.execute(args);
    }

    /** Prints results and says by the exit code whether all binding budgets are kept. */
    static int report(CommandLine line, Machine machine, Results results, String command, boolean json, boolean check) {
        if (json) {
            line.getOut().println(Report.json(machine, results, command));
        } else {
            Report.table(line.getOut(), machine, results, command);
        }
        line.getOut().flush();
        if (!check) {
            return OK;
        }
        int missed = 0;
        for (Budget b : results.budgets()) {
            if (b.binding() && !b.isMet()) {
                // What was not measured is not known to be kept.
                line.getErr().println(b.wasMeasured() ? "missed: " + b.what() + " is " + b.measuredText() + "; " + b.limitText() + " is the budget"
                    : "not measured: " + b.what() + "; " + b.limitText() + " is the budget");
                missed++;
            }
        }
        return missed == 0 ? OK : MISSED;
    }
}
