// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.solve.Correction;

/**
 * The kernel for wide registers. It does what {@link ScalarKernel} does, operation by operation, and so comes to the same
 * bits: the two may take turns within one clip, or one frame, unseen.
 */
public final class VectorKernel implements CorrectionKernel {
    private final ScalarKernel scalar = new ScalarKernel();
    private final ThreadLocal<Passes> passes = ThreadLocal.withInitial(() -> new Passes(scalar));

    /** @throws UnsupportedOperationException where registers are too narrow to pay, bytes lie the other way round, or native access is refused */
    public VectorKernel() {
        Lanes.require();
        Memory.require();
    }

    @Override
    public String name() {
        return "vector";
    }

    @Override
    public String description() {
        return "vector, " + Lanes.COUNT + " lanes";
    }

    @Override
    public void apply(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        if (strength == 0f || correction.isIdentity() || source.components() == Components.ALPHA) {
            scalar.apply(source, destination, rowFrom, rowTo, correction, strength);
            return;
        }
        ScalarKernel.requireBand(source, destination, rowFrom, rowTo);
        passes.get().packed.run(source, destination, rowFrom, rowTo, correction, strength);
    }

    @Override
    public void apply(PlanarFrame source, PlanarFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        if (strength == 0f || correction.isIdentity()) {
            scalar.apply(source, destination, rowFrom, rowTo, correction, strength);
            return;
        }
        ScalarKernel.requireBand(source, destination, rowFrom, rowTo);
        passes.get().planar.run(source, destination, rowFrom, rowTo, correction, strength);
    }

    /** What one thread keeps from frame to frame. */
    private static final class Passes {
        final PackedPass packed;
        final PlanarPass planar;

        Passes(ScalarKernel scalar) {
            Runs runs = new Runs();
            packed = new PackedPass(scalar, runs);
            planar = new PlanarPass(runs);
        }
    }
}
