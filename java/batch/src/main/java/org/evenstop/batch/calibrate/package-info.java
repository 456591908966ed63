// SPDX-License-Identifier: Apache-2.0
/** The command that recovers a camera profile from a bracket of files. */
package org.evenstop.batch.calibrate;
