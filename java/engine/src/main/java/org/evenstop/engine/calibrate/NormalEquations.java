// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

/** Symmetric positive definite systems by Cholesky's decomposition; small and dense. */
final class NormalEquations {
    private NormalEquations() {
    }

    /**
     * Solves {@code a x = b}; the lower triangle of {@code a} is read and overwritten.
     *
     * @return x, or null when the matrix is not positive definite
     */
    static double[] solve(double[][] a, double[] b) {
        int n = b.length;
        for (int j = 0; j < n; j++) {
            double[] rowJ = a[j];
            double d = rowJ[j];
            for (int k = 0; k < j; k++) {
                d -= rowJ[k] * rowJ[k];
            }
            if (!(d > 0)) {
                return null;
            }
            double root = Math.sqrt(d);
            rowJ[j] = root;
            for (int i = j + 1; i < n; i++) {
                double[] rowI = a[i];
                double s = rowI[j];
                for (int k = 0; k < j; k++) {
                    s -= rowI[k] * rowJ[k];
                }
                rowI[j] = s / root;
            }
        }
        double[] x = b.clone();
        for (int i = 0; i < n; i++) {
            for (int k = 0; k < i; k++) {
                x[i] -= a[i][k] * x[k];
            }
            x[i] /= a[i][i];
        }
        for (int i = n - 1; i >= 0; i--) {
            for (int k = i + 1; k < n; k++) {
                x[i] -= a[k][i] * x[k];
            }
            x[i] /= a[i][i];
        }
        return x;
    }
}
