// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.lang.System.Logger;
import java.lang.System.Logger.Level;

/**
 * The one place where a kernel is chosen, once for the process, and why is logged (logger {@code org.evenstop.kernel}).
 * Kernels for wide registers register as {@link java.util.ServiceLoader} services of {@link CorrectionKernel}. Where none is
 * present, or it refuses the machine, the scalar kernel serves.
 *
 * <p>The system property {@code evenstop.kernel} (or the environment variable {@code EVENSTOP_KERNEL}) names the one wanted:
 * {@code auto} (default) lets the scalar kernel answer until a faster one is compiled and has shown that it is right and
 * faster; {@code scalar}, or a service's name, uses that one alone.
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

    /** What was asked for: {@code auto}, {@code scalar} or a name. */
    public static String wanted() {
        String name = System.getProperty("evenstop.kernel");
        if (name == null || name.isBlank()) {
            name = System.getenv("EVENSTOP_KERNEL");
        }
        return name == null || name.isBlank() ? "auto" : name.strip();
    }

    /** A kernel by name, as {@link #chosen} finds it; for comparing several in one process. */
    public static CorrectionKernel choose(String wanted) {
        CorrectionKernel scalar = new ScalarKernel();
        if (wanted.equals(scalar.name())) {
            LOG.log(Level.DEBUG, "kernel: scalar, as asked");
            return scalar;
        }
        if (wanted.equals("auto")) {
            // It is loaded when there is something to render.
            if (!Services.isPresent(CorrectionKernel.class)) {
                LOG.log(Level.DEBUG, "kernel: scalar, no other is present");
                return scalar;
            }
            return new Takeover(scalar, () -> service("auto"));
        }
        CorrectionKernel found = service(wanted);
        if (found == null) {
            LOG.log(Level.WARNING, "kernel ''{0}'' is not present or has refused; the scalar one serves. Allowed: auto, scalar", wanted);
        }
        return found == null ? scalar : found;
    }

    private static CorrectionKernel service(String wanted) {
        CorrectionKernel found = Services.find(CorrectionKernel.class, "kernel", wanted, CorrectionKernel::name);
        if (found != null) {
            LOG.log(Level.DEBUG, "kernel: {0}", found.description());
        }
        return found;
    }
}
