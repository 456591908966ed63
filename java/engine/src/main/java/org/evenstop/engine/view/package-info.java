// SPDX-License-Identifier: Apache-2.0
/** Check views drawn over a corrected picture: waveform, zebra, clipped areas, before beside after. */
package org.evenstop.engine.view;
