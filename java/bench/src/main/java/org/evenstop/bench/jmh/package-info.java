// SPDX-License-Identifier: Apache-2.0
/** JMH benchmarks of every kernel, format and pass, each beside a copy of the same frame. */
package org.evenstop.bench.jmh;
