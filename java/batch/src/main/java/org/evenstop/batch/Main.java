// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import java.io.FileDescriptor;
import java.io.FileOutputStream;
import java.io.PrintStream;
import java.io.PrintWriter;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.List;
import org.evenstop.batch.calibrate.CalibrateCommand;
import org.evenstop.batch.demo.DemoCommand;
import org.evenstop.batch.evaluate.EvaluateCommand;
import org.evenstop.engine.InputException;
import org.evenstop.engine.json.NearestName;
import picocli.AutoComplete;
import picocli.CommandLine;
import picocli.CommandLine.Command;
import picocli.CommandLine.Help.Ansi;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.ParameterException;
import picocli.CommandLine.Spec;
import picocli.CommandLine.UnmatchedArgumentException;

/**
 * The command {@code evenstop}. Results go to the standard output, everything else to the standard error stream.
 * Exit codes: 0 all done, 1 some clip failed, 2 the command was not understood or cannot start.
 */
@Command(name = "evenstop", mixinStandardHelpOptions = true, version = "evenstop 0.1.0",
    description = "Evens out the exposure of clips: measures where their levels lie and renders corrected copies.",
    subcommands = {DemoCommand.class, MeasureCommand.class, RenderCommand.class, CalibrateCommand.class, EvaluateCommand.class,
        PluginCommand.class, BenchCommand.class, VerifyCommand.class, CommandLine.HelpCommand.class},
    footer = {"", "A render is a copy: keep the camera original until the copy is checked.",
        "Exit codes: 0 all done, 1 some clip failed, 2 wrong use. EVENSTOP_DEBUG=1 shows where an error came from."})
public final class Main implements Runnable {
    static final int OK = 0;
    static final int SOME_FAILED = 1;
    static final int USAGE = 2;

    @Spec
    private CommandSpec spec;

    public static void main(String[] args) {
        PrintStream out = new PrintStream(new FileOutputStream(FileDescriptor.out), false, StandardCharsets.UTF_8);
        PrintStream err = new PrintStream(new FileOutputStream(FileDescriptor.err), true, StandardCharsets.UTF_8);
        int code = run(args, out, err);
        out.flush();
        if (out.checkError()) {
            code = Math.max(code, SOME_FAILED);
        }
        System.exit(code);
    }

    /** Runs one command and returns its exit code. */
    public static int run(String[] args, PrintStream out, PrintStream err) {
        CommandLine line = new CommandLine(new Main());
        line.addSubcommand("completion", new CommandLine(new AutoComplete.GenerateCompletion()).setCommandName("completion"));
        line.setOut(new PrintWriter(out, true, StandardCharsets.UTF_8));
        line.setErr(new PrintWriter(err, true, StandardCharsets.UTF_8));
        line.setUsageHelpWidth(100);
        if (System.getenv("NO_COLOR") != null || !Terminal.isOutput()) {
            line.setColorScheme(CommandLine.Help.defaultColorScheme(Ansi.OFF));
        }
        line.setParameterExceptionHandler((wrong, given) -> {
            wrong.getCommandLine().getErr().println(Main.explain(wrong, given));
            return USAGE;
        });
        line.setExecutionExceptionHandler((failed, command, parsed) -> {
            command.getErr().println(oneLine(failed));
            trace(failed, command.getErr());
            return failed instanceof InputException ? USAGE : SOME_FAILED;
        });
        return line.execute(args);
    }

    @Override
    public void run() {
        throw new ParameterException(spec.commandLine(), "no command is given");
    }

    private static String explain(ParameterException wrong, String[] given) {
        CommandLine command = wrong.getCommandLine();
        String text = Terminal.plain(wrong.getMessage()).replace("is not an int", "is not a whole number");
        if (text.contains("InvalidPathException")) {
            // Java takes file names in the locale's encoding.
            text = "a file name holds letters that the locale cannot express; run with LC_ALL=C.UTF-8";
        }
        if (wrong instanceof UnmatchedArgumentException unmatched && !unmatched.getUnmatched().isEmpty()) {
            String first = unmatched.getUnmatched().get(0);
            text = "'" + first + "' is not " + (first.startsWith("-") ? "an option" : "a command or argument") + " of "
                + command.getCommandSpec().qualifiedName();
            String near = nearest(first, command.getCommandSpec());
            if (!near.isEmpty()) {
                text += "; did you mean " + near + "?";
            }
        }
        for (String one : given) {
            if (one.equals("--")) {
                break;
            }
            if (one.startsWith("-") && ClipList.endsLikeAClip(one)) {
                text = "'" + one + "' reads as an option; for the file of that name write ./" + one + ", or put -- before the file names";
                break;
            }
        }
        return command.getCommandSpec().qualifiedName() + ": " + Terminal.plain(text) + (text.endsWith("?") ? " " : "; ") + "see "
            + command.getCommandSpec().qualifiedName() + " --help";
    }

    /** The option or command whose name is at most a third wrong; empty when there is none. */
    private static String nearest(String given, CommandSpec spec) {
        List<String> names = new ArrayList<>(spec.subcommands().keySet());
        spec.options().forEach(option -> names.addAll(List.of(option.names())));
        String name = given.contains("=") ? given.substring(0, given.indexOf('=')) : given;
        String near = NearestName.of(name, names);
        return near == null ? "" : near;
    }

    /** An error as one line for people. */
    static String oneLine(Throwable failed) {
        if (failed instanceof InputException) {
            return failed.getMessage();
        }
        if (failed instanceof OutOfMemoryError) {
            return "not enough memory for frames of this size; set JAVA_TOOL_OPTIONS=-Xmx4g or close other programs";
        }
        return "unexpected error (" + failed.toString().lines().findFirst().orElse("unknown")
            + "); this is a fault of evenstop: run again with EVENSTOP_DEBUG=1 and report what it prints";
    }

    static void trace(Throwable failed, PrintWriter err) {
        if ("1".equals(System.getenv("EVENSTOP_DEBUG"))) {
            failed.printStackTrace(err);
        }
    }
}
