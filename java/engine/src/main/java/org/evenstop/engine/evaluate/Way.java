// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

/** The ways of normalising an exposure that are compared, in the order of the table. */
public enum Way {
    KNOWN("known", "profile known", 0.5, true),
    CALIBRATED("calibrated", "profile recovered from five exposures", 0.8, true),
    MATCHED("matched", "profile unknown, reference clip given", 1.5, false),
    RIGHT("right", "blind, shipped profile of the right family", 1.5, true),
    WRONG("wrong", "blind, shipped profile of the wrong family", 4.0, false),
    STRETCH("stretch", "baseline: percentile black/white stretch", Double.NaN, false),
    GAMMA("gamma", "baseline: gamma to the median", Double.NaN, false),
    EQUALISED("equalised", "baseline: histogram equalisation", Double.NaN, false);

    /** How many times nearer than the percentile stretch a way has to be where the family is right. */
    public static final double NEARER = 5;

    private final String word;
    private final String label;
    private final double limit;
    private final boolean rightFamily;

    Way(String word, String label, double limit, boolean rightFamily) {
        this.word = word;
        this.label = label;
        this.limit = limit;
        this.rightFamily = rightFamily;
    }

    /** The word for it in tables and JSON. */
    public String word() {
        return word;
    }

    public String label() {
        return label;
    }

    /** Largest mean difference allowed at two stops either way; NaN for baselines. */
    public double limit() {
        return limit;
    }

    public boolean isBaseline() {
        return limit != limit;
    }

    /** Whether it also has to be {@value #NEARER} times nearer than the percentile stretch. */
    public boolean hasRightFamily() {
        return rightFamily;
    }
}
