// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import com.fasterxml.jackson.databind.node.JsonNodeFactory;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.File;
import java.io.IOException;
import java.io.PrintWriter;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.StandardCopyOption;
import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.Callable;
import java.util.concurrent.TimeUnit;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.evenstop.engine.InputException;
import picocli.CommandLine.ArgGroup;
import picocli.CommandLine.Command;
import picocli.CommandLine.Mixin;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.ParameterException;
import picocli.CommandLine.Spec;

/** {@code evenstop plugin}: the OpenFX bundle on this machine. */
@Command(name = "plugin", mixinStandardHelpOptions = true, description = "Installs the OpenFX plug-in, removes it, or tries it in the bundled test host.",
    subcommands = {PluginCommand.Install.class, PluginCommand.Uninstall.class, PluginCommand.Probe.class, BenchCommand.class})
final class PluginCommand implements Runnable {
    private static final String BUNDLE = PluginFolder.BUNDLE;

    @Spec
    private CommandSpec spec;

    @Override
    public void run() {
        throw new ParameterException(spec.commandLine(), "give install, uninstall, probe or bench");
    }

    private static Path home() {
        String home = System.getProperty("evenstop.home", "");
        if (home.isEmpty()) {
            throw new InputException("the place of the source tree is not known; start with the launcher ./evenstop");
        }
        return Path.of(home);
    }

    private static Path bundle() {
        Path bundle = home().resolve("build").resolve(BUNDLE);
        if (!Files.isDirectory(bundle)) {
            throw new InputException(bundle + ": the plug-in is not built yet; run ./evenstop demo once, which builds everything");
        }
        return bundle;
    }

    /** Which folder is meant: one of three ways to say it, or none. */
    private static final class Place {
        @ArgGroup(exclusive = true, multiplicity = "0..1")
        private Choice choice;

        private static final class Choice {
            @Option(names = "--user", description = "A folder of yours: the first one of OFX_PLUGIN_PATH in your home folder, else OFX/Plugins there.")
            private boolean user;
            @Option(names = "--system", description = "The folder that the OpenFX standard names: /usr/OFX/Plugins, on macOS /Library/OFX/Plugins (needs root).")
            private boolean system;
            @Option(names = "--to", paramLabel = "DIR", description = "This folder. Default: the first of OFX_PLUGIN_PATH, else that of --system.")
            private Path folder;
        }

        PluginFolder folder() {
            String searchPath = System.getenv("OFX_PLUGIN_PATH");
            if (choice == null) {
                return new PluginFolder(PluginFolder.usual(searchPath));
            }
            if (choice.user) {
                return new PluginFolder(PluginFolder.ofUser(searchPath, Path.of(System.getProperty("user.home"))));
            }
            if (choice.system) {
                return new PluginFolder(PluginFolder.ofSystem());
            }
            if (choice.folder.toString().isBlank()) {
                throw new InputException("--to is empty; give the folder for the bundle, or leave --to out");
            }
            return new PluginFolder(choice.folder);
        }
    }

    /** What install and uninstall share: where the bundle goes or is, and how the result is printed. */
    private abstract static class InFolder implements Callable<Integer> {
        @Mixin
        private Place place;

        @Option(names = "--json", description = "Print one object for machines.")
        private boolean json;

        @Spec
        private CommandSpec spec;

        final PluginFolder folder() {
            return place.folder();
        }

        /** The result of an install or uninstall, for people or for machines. */
        final void say(String action, PluginFolder folder, boolean replaced) {
            PrintWriter out = spec.commandLine().getOut();
            Path bundle = folder.bundle().toAbsolutePath().normalize();
            boolean installed = action.equals("install");
            boolean searched = folder.isSearched(System.getenv("OFX_PLUGIN_PATH"));
            if (json) {
                ObjectNode object = JsonNodeFactory.instance.objectNode().put("action", action).put("bundle", bundle.toString());
                if (installed) {
                    object.put("replaced", replaced);
                }
                out.println(object.put("searchedByHosts", searched));
                return;
            }
            out.println((installed ? "installed " : "removed ") + Terminal.plain(bundle) + (replaced ? ", in place of an older one" : ""));
            if (installed && !searched) {
                out.println("hosts find it when OFX_PLUGIN_PATH names " + Terminal.plain(bundle.getParent()));
            }
        }
    }

    @Command(name = "install", mixinStandardHelpOptions = true, sortOptions = false,
        description = "Copies " + BUNDLE + " to where hosts look for OpenFX plug-ins, whole or not at all, in place of an older one.")
    static final class Install extends InFolder {
        @Override
        public Integer call() {
            PluginFolder folder = folder();
            boolean replaced = folder.install(PluginCommand.bundle());
            renewClassArchive(folder.bundle());
            say("install", folder, replaced);
            return Main.OK;
        }

        /**
         * A class archive fits only the place it was made for, so it is made anew there. Where that fails the plug-in starts a tenth
         * of a second later and is none the worse.
         */
        private static void renewClassArchive(Path target) {
            Path resources = target.toAbsolutePath().resolve("Contents").resolve("Resources");
            Path java = resources.resolve("java");
            Path vm = resources.resolve("jre").resolve("bin").resolve("java");
            if (!Files.isExecutable(vm)) {
                return;
            }
            Path archive = java.resolve("classes.jsa");
            Path coming = java.resolve("classes.jsa.part");
            try (Stream<Path> files = Files.list(java)) {
                int version = version(resources.resolve("jre").resolve("release"));
                // As the plug-in starts it: without the jar that an older Java cannot read.
                String classPath = files.filter(f -> version >= 25 || !f.getFileName().toString().startsWith("evenstop-vector")).map(Path::toString)
                    .filter(f -> f.endsWith(".jar")).sorted().collect(Collectors.joining(File.pathSeparator));
                List<String> command = new ArrayList<>(List.of(vm.toString(), "-XX:ArchiveClassesAtExit=" + coming, "-XX:+UseSerialGC",
                    "-Xmx256m", "-Xrs", "-Xlog:disable", "-Djna.nosys=true", "-Djna.boot.library.path=" + java));
                if (version >= 22) {
                    command.add("--enable-native-access=ALL-UNNAMED");
                }
                if (classPath.contains("evenstop-vector")) {
                    command.add("--add-modules=jdk.incubator.vector");
                }
                command.addAll(List.of("-cp", classPath, "org.evenstop.bridge.Rehearsal"));
                Process process = new ProcessBuilder(command).redirectErrorStream(true).redirectOutput(ProcessBuilder.Redirect.DISCARD).start();
                if (!process.waitFor(60, TimeUnit.SECONDS)) {
                    process.destroyForcibly();
                } else if (process.exitValue() == 0 && Files.exists(coming)) {
                    Files.move(coming, archive, StandardCopyOption.REPLACE_EXISTING);
                }
                Files.deleteIfExists(coming);
            } catch (IOException slower) {
                deleteQuietly(coming);
            } catch (InterruptedException stopped) {
                Thread.currentThread().interrupt();
            }
        }

        private static void deleteQuietly(Path file) {
            try {
                Files.deleteIfExists(file);
            } catch (IOException ignored) {
                // Nobody reads it.
            }
        }

        /** The run-time's feature number, 0 where it does not say. */
        private static int version(Path release) throws IOException {
            if (!Files.exists(release)) {
                return 0;
            }
            for (String line : Files.readAllLines(release)) {
                if (line.matches("JAVA_VERSION=\"[0-9]{1,4}\\D.*")) {
                    return Integer.parseInt(line.replaceAll("^\\D*(\\d+).*$", "$1"));
                }
            }
            return 0;
        }
    }

    @Command(name = "uninstall", mixinStandardHelpOptions = true, sortOptions = false,
        description = "Removes " + BUNDLE + " from where install put it.")
    static final class Uninstall extends InFolder {
        @Override
        public Integer call() {
            PluginFolder folder = folder();
            folder.uninstall();
            say("uninstall", folder, false);
            return Main.OK;
        }
    }

    @Command(name = "probe", mixinStandardHelpOptions = true,
        description = "Loads the bundle in the bundled test host, runs it through its actions, and passes on the host's exit code.")
    static final class Probe implements Callable<Integer> {
        @Override
        public Integer call() throws InterruptedException {
            Path bundle = bundle();
            Path host = home().resolve("build").resolve("bin").resolve("ofxhost");
            if (!Files.isExecutable(host)) {
                throw new InputException(host + ": the test host is not built yet; run ./evenstop demo once, which builds everything");
            }
            try {
                return new ProcessBuilder(List.of(host.toString(), "probe", bundle.toString())).inheritIO().start().waitFor();
            } catch (IOException failed) {
                throw new InputException(host + ": does not start (" + InputException.reason(failed) + ")", failed);
            }
        }
    }
}
