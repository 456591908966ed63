// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

/**
 * One clip of the demo shoot.
 *
 * @param name      file name without extension
 * @param how       how it was shot, in a few words for a table
 * @param view      the place
 * @param stops     error of exposure: 0 is right for the subject, +2 lets in four times the light
 * @param hunting   how many stops the iris wanders up and down while the clip runs; 0 as a rule
 * @param gain      sensor gain, 1 as a rule, more in the dark
 * @param wide      picture aspect between black bars, as 2.39; 0 without bars
 */
record Shot(String name, String how, Views view, double stops, double hunting, double gain, double wide) {

    static Shot plain(String name, String how, Views view, double stops) {
        return new Shot(name, how, view, stops, 0, 1, 0);
    }

    /** Error of exposure at a time of the clip. */
    double stopsAt(double seconds) {
        return stops + hunting * Noise.sine(0.72 * seconds - 0.1);
    }

    /** Rows of each black bar; even, so that chroma of 4:2:0 copies stays clean too. */
    int barRows(int width, int height) {
        return wide <= 0 ? 0 : Math.max(0, (int) Math.round((height - width / wide) / 4) * 2);
    }

    /** Number that tells this clip's sway and noise from the others'. */
    int seed() {
        int seed = 17;
        for (int i = 0; i < name.length(); i++) {
            seed = 31 * seed + name.charAt(i);
        }
        return seed;
    }
}
