// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import java.io.File;
import java.io.IOException;
import java.nio.file.FileVisitResult;
import java.nio.file.Files;
import java.nio.file.LinkOption;
import java.nio.file.Path;
import java.nio.file.SimpleFileVisitor;
import java.nio.file.StandardCopyOption;
import java.nio.file.attribute.BasicFileAttributes;
import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.Callable;
import java.util.concurrent.TimeUnit;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.evenstop.batch.media.PendingFile;
import org.evenstop.engine.InputException;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.ParameterException;
import picocli.CommandLine.Spec;

/** {@code evenstop plugin}: the OpenFX bundle on this machine. */
@Command(name = "plugin", mixinStandardHelpOptions = true, description = "Installs the OpenFX plug-in, or tries it in the bundled test host.",
    subcommands = {PluginCommand.Install.class, PluginCommand.Probe.class, BenchCommand.class})
final class PluginCommand implements Runnable {
    private static final String BUNDLE = "Evenstop.ofx.bundle";
    /** Where the OpenFX standard has hosts look on Linux, after the folders of {@code OFX_PLUGIN_PATH}. */
    private static final Path STANDARD_FOLDER = Path.of("/usr/OFX/Plugins");

    @Spec
    private CommandSpec spec;

    @Override
    public void run() {
        throw new ParameterException(spec.commandLine(), "give install, probe or bench");
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

    @Command(name = "install", mixinStandardHelpOptions = true, sortOptions = false,
        description = "Copies " + BUNDLE + " to where hosts look for OpenFX plug-ins.")
    static final class Install implements Callable<Integer> {
        @Option(names = "--to", paramLabel = "DIR",
            description = "Folder for the bundle. Default: the first of OFX_PLUGIN_PATH, else /usr/OFX/Plugins (needs root).")
        private Path folder;

        @Spec
        private CommandSpec spec;

        @Override
        public Integer call() {
            if (folder != null && folder.toString().isBlank()) {
                throw new InputException("--to is empty; give the folder for the bundle, or leave --to out");
            }
            Path bundle = bundle();
            Path to = folder != null ? folder : standardFolder(System.getenv("OFX_PLUGIN_PATH"));
            Path target = to.resolve(BUNDLE);
            Path coming = to.resolve("." + BUNDLE + ".part-" + ProcessHandle.current().pid());
            Path going = to.resolve("." + BUNDLE + ".old-" + ProcessHandle.current().pid());
            try {
                Files.createDirectories(to);
                copyTree(bundle, coming);
                boolean replaces = Files.exists(target, LinkOption.NOFOLLOW_LINKS);
                if (replaces) {
                    Files.move(target, going, StandardCopyOption.ATOMIC_MOVE);
                }
                Files.move(coming, target, StandardCopyOption.ATOMIC_MOVE);
                removeTree(going);
            } catch (IOException refused) {
                bringBack(going, target);
                removeQuietly(coming);
                throw new InputException(to + ": the plug-in cannot be copied there (" + PendingFile.reason(refused)
                    + "); run as root, or give a folder of yours with --to and name it in OFX_PLUGIN_PATH", refused);
            }
            renewClassArchive(target);
            spec.commandLine().getOut().println("installed " + Terminal.plain(target));
            if (!to.equals(STANDARD_FOLDER)) {
                spec.commandLine().getOut().println("hosts find it when OFX_PLUGIN_PATH names " + Terminal.plain(to.toAbsolutePath()));
            }
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
                String classPath = files.map(Path::toString).filter(f -> f.endsWith(".jar")).sorted().collect(Collectors.joining(File.pathSeparator));
                List<String> command = new ArrayList<>(List.of(vm.toString(), "-XX:ArchiveClassesAtExit=" + coming, "-XX:+UseSerialGC",
                    "-Xmx256m", "-Xrs", "-Xlog:disable", "-Djna.nosys=true", "-Djna.boot.library.path=" + java));
                if (needsNativeAccess(resources.resolve("jre").resolve("release"))) {
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
                removeQuietly(coming);
            } catch (InterruptedException stopped) {
                Thread.currentThread().interrupt();
            }
        }

        private static boolean needsNativeAccess(Path release) throws IOException {
            if (!Files.exists(release)) {
                return false;
            }
            for (String line : Files.readAllLines(release)) {
                if (line.matches("JAVA_VERSION=\"[0-9]{1,4}\\D.*")) {
                    return Integer.parseInt(line.replaceAll("^\\D*(\\d+).*$", "$1")) >= 22;
                }
            }
            return false;
        }

        static Path standardFolder(String searchPath) {
            if (searchPath != null) {
                for (String one : searchPath.split("[" + File.pathSeparator + ";]")) {
                    if (!one.isBlank()) {
                        return Path.of(one.strip());
                    }
                }
            }
            return STANDARD_FOLDER;
        }

        private static void bringBack(Path going, Path target) {
            try {
                if (Files.exists(going) && !Files.exists(target)) {
                    Files.move(going, target, StandardCopyOption.ATOMIC_MOVE);
                }
            } catch (IOException lost) {
                throw new InputException(going + ": the earlier plug-in could not be put back; rename it to " + target, lost);
            }
        }

        private static void copyTree(Path from, Path to) throws IOException {
            Files.walkFileTree(from, new SimpleFileVisitor<>() {
                @Override
                public FileVisitResult preVisitDirectory(Path dir, BasicFileAttributes attributes) throws IOException {
                    Files.createDirectories(to.resolve(from.relativize(dir)));
                    return FileVisitResult.CONTINUE;
                }

                @Override
                public FileVisitResult visitFile(Path file, BasicFileAttributes attributes) throws IOException {
                    Files.copy(file, to.resolve(from.relativize(file)), StandardCopyOption.COPY_ATTRIBUTES, LinkOption.NOFOLLOW_LINKS);
                    return FileVisitResult.CONTINUE;
                }
            });
        }

        private static void removeTree(Path root) throws IOException {
            if (!Files.exists(root, LinkOption.NOFOLLOW_LINKS)) {
                return;
            }
            Files.walkFileTree(root, new SimpleFileVisitor<>() {
                @Override
                public FileVisitResult visitFile(Path file, BasicFileAttributes attributes) throws IOException {
                    Files.delete(file);
                    return FileVisitResult.CONTINUE;
                }

                @Override
                public FileVisitResult postVisitDirectory(Path dir, IOException failed) throws IOException {
                    Files.delete(dir);
                    return FileVisitResult.CONTINUE;
                }
            });
        }

        private static void removeQuietly(Path root) {
            try {
                removeTree(root);
            } catch (IOException ignored) {
                // The first problem is the one worth telling.
            }
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
                throw new InputException(host + ": does not start (" + PendingFile.reason(failed) + ")", failed);
            }
        }
    }
}
