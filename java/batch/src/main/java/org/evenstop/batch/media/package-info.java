// SPDX-License-Identifier: Apache-2.0

/**
 * Clips in and out, on the bundled FFmpeg: decoded planes at their own depth and range, never by way of an RGB picture, so that
 * levels over 100 % and under 0 % arrive as they were recorded.
 */
package org.evenstop.batch.media;
