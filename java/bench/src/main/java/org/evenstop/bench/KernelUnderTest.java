// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import java.util.Iterator;
import java.util.ServiceConfigurationError;
import java.util.ServiceLoader;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.kernel.ScalarKernel;

/**
 * The kernel whose steady speed is timed: the one that serves in the end, alone. What {@link Kernels#chosen} gives lets the scalar kernel
 * answer until the other is compiled; that hand-over is timed where it happens, in the host.
 */
public final class KernelUnderTest {
    private KernelUnderTest() {
    }

    /** The one named by {@code evenstop.kernel} or {@code EVENSTOP_KERNEL}, else the first service that takes this machine, else scalar. */
    public static CorrectionKernel get() {
        String wanted = System.getProperty("evenstop.kernel", System.getenv().getOrDefault("EVENSTOP_KERNEL", "auto")).strip();
        if (!wanted.isEmpty() && !wanted.equals("auto")) {
            return Kernels.choose(wanted);
        }
        Iterator<CorrectionKernel> services = ServiceLoader.load(CorrectionKernel.class).iterator();
        try {
            return services.hasNext() ? services.next() : new ScalarKernel();
        } catch (ServiceConfigurationError | LinkageError refused) {
            return new ScalarKernel();
        }
    }
}
