// SPDX-License-Identifier: Apache-2.0
/** Brackets with ground truth, and how far apart their exposures are after correction: the measure of success. */
package org.evenstop.engine.evaluate;
