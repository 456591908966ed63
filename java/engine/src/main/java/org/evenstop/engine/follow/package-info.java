// SPDX-License-Identifier: Apache-2.0

/** Following light that drifts within a clip: found frame by frame through the profile, undone by corrections keyed over time. */
package org.evenstop.engine.follow;
