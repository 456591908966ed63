// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

/**
 * Light at one time of a shot. Between keys it runs along the monotone cubic through them (Fritsch and Carlson 1980), beyond
 * the first and last it stays.
 *
 * @param seconds time in the clip
 * @param stops   light over the light that the clip's correction is meant for
 */
public record LightKey(double seconds, double stops) {
}
