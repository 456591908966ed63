// SPDX-License-Identifier: Apache-2.0

/** The command line. */
package org.evenstop.batch;
