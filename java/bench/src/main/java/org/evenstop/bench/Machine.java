// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.IOException;
import java.lang.management.GarbageCollectorMXBean;
import java.lang.management.ManagementFactory;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.List;
import java.util.Set;
import java.util.TreeSet;
import java.util.stream.Collectors;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.solve.Correction;

/**
 * What the numbers were taken on.
 *
 * @param processor  model name as the system gives it, else the architecture
 * @param features   of it that matter here: vector instruction sets
 * @param lanes      floats in a vector as this VM prefers them, 0 where it has no vector module
 * @param kernel     name of the kernel that serves once it is compiled
 * @param kernelIs   the same with what it works with
 * @param curves     segments of the timed correction's three curves
 */
record Machine(String processor, List<String> features, int cores, long memoryMb, String system, String java, String collector, int lanes,
               String kernel, String kernelIs, String curves) {
    private static final Set<String> WORTH_NAMING = Set.of("sse2", "ssse3", "sse4_1", "sse4_2", "avx", "f16c", "fma", "avx2", "avx512f",
        "avx512dq", "avx512bw", "avx512vl", "avx512vbmi", "asimd", "sve", "sve2");

    static Machine here() {
        Correction all = Corrections.ALL.correction();
        CorrectionKernel kernel = KernelUnderTest.get();
        String curves = segments(all.chromaIn()) + " + " + segments(all.tone()) + " + " + segments(all.chromaOut());
        return new Machine(cpuInfo("model name", System.getProperty("os.arch")), instructionSets(), Runtime.getRuntime().availableProcessors(), memory(),
            System.getProperty("os.name") + " " + System.getProperty("os.version"),
            System.getProperty("java.vm.name") + " " + Runtime.version(),
            ManagementFactory.getGarbageCollectorMXBeans().stream().map(GarbageCollectorMXBean::getName).collect(Collectors.joining(", ")),
            preferredLanes(), kernel.name(), kernel.description(), curves);
    }

    private static int segments(Curve curve) {
        return curve.segmentCount();
    }

    boolean isVector() {
        return !kernel.equals(new ScalarKernel().name());
    }

    /** Bits of a vector, 0 where there is none. */
    int vectorBits() {
        return 32 * lanes;
    }

    private static String cpuInfo(String name, String otherwise) {
        try {
            for (String line : Files.readAllLines(Path.of("/proc/cpuinfo"), StandardCharsets.UTF_8)) {
                if (line.startsWith(name)) {
                    return line.substring(line.indexOf(':') + 1).strip();
                }
            }
        } catch (IOException notLinux) {
            return otherwise;
        }
        return otherwise;
    }

    private static List<String> instructionSets() {
        Set<String> found = new TreeSet<>(Arrays.asList(cpuInfo("flags", cpuInfo("Features", "")).split("\\s+")));
        found.retainAll(WORTH_NAMING);
        return List.copyOf(found);
    }

    private static long memory() {
        return ManagementFactory.getOperatingSystemMXBean() instanceof com.sun.management.OperatingSystemMXBean system
            ? system.getTotalMemorySize() >> 20 : 0;
    }

    /** Asked by name: the vector module is there on newer VMs only, and only when it was asked for. */
    private static int preferredLanes() {
        try {
            Object species = Class.forName("jdk.incubator.vector.FloatVector").getField("SPECIES_PREFERRED").get(null);
            return (int) Class.forName("jdk.incubator.vector.VectorSpecies").getMethod("length").invoke(species);
        } catch (ReflectiveOperationException | LinkageError absent) {
            return 0;
        }
    }

    /** As lines for people. */
    List<String> lines() {
        return List.of("processor   " + processor + ", " + cores + (cores == 1 ? " core, " : " cores, ") + memoryMb + " MB",
            "features    " + String.join(" ", features) + (lanes > 0 ? "; vectors of " + vectorBits() + " bit in use" : ""),
            "system      " + system + ", " + java + ", " + collector,
            "kernel      " + kernelIs + "; curves of " + curves + " segments (chroma in, tone, chroma out)");
    }

    ObjectNode json(ObjectMapper mapper) {
        ObjectNode node = mapper.createObjectNode();
        node.put("processor", processor);
        features.forEach(node.putArray("features")::add);
        node.put("cores", cores).put("memoryMb", memoryMb).put("system", system).put("java", java).put("collector", collector)
            .put("vectorBits", vectorBits()).put("kernel", kernel).put("kernelDescription", kernelIs).put("curveSegments", curves);
        return node;
    }
}
