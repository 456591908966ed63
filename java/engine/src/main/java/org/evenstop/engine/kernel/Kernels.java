// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.lang.System.Logger;
import java.lang.System.Logger.Level;
import java.util.Iterator;
import java.util.ServiceConfigurationError;
import java.util.ServiceLoader;

/**
 * The one place where a kernel is chosen, once for the process. Vector kernels register as {@link java.util.ServiceLoader}
 * services of {@link CorrectionKernel}; where none is present or it fails its self-test, the scalar kernel serves.
 *
 * <p>The system property {@code evenstop.kernel} (or the environment variable {@code EVENSTOP_KERNEL}) names the one wanted:
 * {@code auto} (default), {@code scalar}, or a service's name.
 */
public final class Kernels {
    private static final Logger LOG = System.getLogger("org.evenstop.kernel");

    private Kernels() {
    }

    /** The kernel of this process. Never null, never throws. */
    public static CorrectionKernel chosen() {
        return Holder.KERNEL;
    }

    private static final class Holder {
        static final CorrectionKernel KERNEL = choose(wanted());
    }

    private static String wanted() {
        String name = System.getProperty("evenstop.kernel");
        if (name == null || name.isBlank()) {
            name = System.getenv("EVENSTOP_KERNEL");
        }
        return name == null || name.isBlank() ? "auto" : name.strip();
    }

    static CorrectionKernel choose(String wanted) {
        CorrectionKernel scalar = new ScalarKernel();
        if (wanted.equals(scalar.name())) {
            LOG.log(Level.DEBUG, "kernel: scalar, as asked");
            return scalar;
        }
        Iterator<CorrectionKernel> services = ServiceLoader.load(CorrectionKernel.class, Kernels.class.getClassLoader()).iterator();
        while (true) {
            try {
                if (!services.hasNext()) {
                    break;
                }
                CorrectionKernel candidate = services.next();
                if (wanted.equals("auto") || wanted.equals(candidate.name())) {
                    LOG.log(Level.DEBUG, "kernel: {0}", candidate.name());
                    return candidate;
                }
            } catch (ServiceConfigurationError | LinkageError refused) {
                LOG.log(Level.INFO, "kernel refused, the scalar one serves: {0}", refused.toString());
            }
        }
        if (!wanted.equals("auto")) {
            LOG.log(Level.WARNING, "kernel ''{0}'' is not present; the scalar one serves. Allowed: auto, scalar", wanted);
        }
        return scalar;
    }
}
