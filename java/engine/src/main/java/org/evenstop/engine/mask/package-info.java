// SPDX-License-Identifier: Apache-2.0
/** Masks that depend on position only, and two corrections blended by them. */
package org.evenstop.engine.mask;
