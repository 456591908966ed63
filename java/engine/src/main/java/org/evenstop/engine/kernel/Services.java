// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.lang.System.Logger;
import java.lang.System.Logger.Level;
import java.util.Iterator;
import java.util.ServiceConfigurationError;
import java.util.ServiceLoader;
import java.util.function.Function;

/** Finds code for wide registers, {@link ServiceLoader} services of the engine, by name. A service that refuses the machine is passed over. */
public final class Services {
    private static final Logger LOG = System.getLogger("org.evenstop.kernel");

    private Services() {
    }

    /** Whether there is a service: cheap to see, while loading it is not. */
    public static boolean isPresent(Class<?> type) {
        return Services.class.getClassLoader().getResource("META-INF/services/" + type.getName()) != null;
    }

    /**
     * @param what   the service, for the log
     * @param wanted a name, or {@code auto} for the first
     * @param name   of a service
     * @return null when there is none
     */
    public static <T> T find(Class<T> type, String what, String wanted, Function<T, String> name) {
        Iterator<T> services = ServiceLoader.load(type, Services.class.getClassLoader()).iterator();
        while (true) {
            try {
                if (!services.hasNext()) {
                    return null;
                }
                T candidate = services.next();
                if (wanted.equals("auto") || wanted.equals(name.apply(candidate))) {
                    return candidate;
                }
            } catch (ServiceConfigurationError | LinkageError refused) {
                LOG.log(Level.INFO, "{0} refused, scalar code serves: {1}", what, refused.getCause() == null ? refused : refused.getCause());
            }
        }
    }
}
