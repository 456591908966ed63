// SPDX-License-Identifier: Apache-2.0

/** Measuring whole clips, and rendering them: decode, correct and encode side by side. */
package org.evenstop.batch.render;
