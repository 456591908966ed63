// SPDX-License-Identifier: Apache-2.0
/** The demo shoot: places and people drawn as scene light, a camera that records them at chosen exposures, and the command that shows it all. */
package org.evenstop.batch.demo;
