// SPDX-License-Identifier: Apache-2.0
/** What Evenstop knows about levels, pictures and corrections, with no file, codec or editor in sight. Depends on Jackson only. */
package org.evenstop.engine;
