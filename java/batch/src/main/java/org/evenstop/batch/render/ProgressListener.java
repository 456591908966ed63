// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

/** Is told how far a clip has got; called often, by one thread at a time. */
@FunctionalInterface
public interface ProgressListener {
    /**
     * @param stage what is being done: measure or render
     * @param done  frames done
     * @param all   frames in all; 0 when unknown
     */
    void at(String stage, long done, long all);
}
