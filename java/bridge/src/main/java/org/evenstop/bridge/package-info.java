// SPDX-License-Identifier: Apache-2.0

/**
 * The Java side of the plug-in: entry points that the C shim calls through a struct of function pointers, working on the
 * host's memory in place. {@code native/bridge/bridge.h} is the other half of the agreement.
 */
package org.evenstop.bridge;
