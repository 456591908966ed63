// SPDX-License-Identifier: Apache-2.0
/** The command {@code evenstop evaluate}. */
package org.evenstop.batch.evaluate;
