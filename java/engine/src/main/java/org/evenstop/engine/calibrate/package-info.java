// SPDX-License-Identifier: Apache-2.0
/** Recovers a camera profile from several exposures of one still scene. */
package org.evenstop.engine.calibrate;
