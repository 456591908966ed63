// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Memory;
import java.lang.ref.Reference;

/**
 * Plays C's part once: opens the bridge, measures a made-up frame, solves, renders. Run while a class archive is recorded, so
 * that the archive holds the classes a host needs; fails when anything does.
 */
public final class Rehearsal {
    private static final int WIDTH = 64;
    private static final int HEIGHT = 48;
    private static final int FLOAT = 3;

    private Rehearsal() {
    }

    public static void main(String[] arguments) {
        play(new Caller());
    }

    private static void play(Caller c) {
        Memory frame = new Memory(16L * WIDTH * HEIGHT);
        for (int i = 0; i < WIDTH * HEIGHT; i++) {
            float level = 0.05f + 0.6f * (i / WIDTH) / HEIGHT;
            frame.setFloat(16L * i, level * 1.1f);
            frame.setFloat(16L * i + 4, level);
            frame.setFloat(16L * i + 8, level * 0.8f);
            frame.setFloat(16L * i + 12, 1f);
        }
        Memory begin = Caller.block(Blocks.BEGIN_BYTES);
        begin.setLong(Blocks.BEGIN_SAMPLE_SIZE, 8192);
        c.require(Caller.MEASURE_BEGIN, begin);
        Memory add = Caller.block(Blocks.ADD_BYTES);
        add.setLong(Blocks.ADD_METER, begin.getLong(Blocks.BEGIN_METER));
        add.setPointer(Blocks.ADD_FRAME, frame);
        add.setLong(Blocks.ADD_STRIDE, 16L * WIDTH);
        add.setLong(Blocks.ADD_WIDTH, WIDTH);
        add.setLong(Blocks.ADD_ROWS, HEIGHT);
        add.setLong(Blocks.ADD_DEPTH, FLOAT);
        c.require(Caller.MEASURE_ADD, add);
        Memory end = Caller.block(Blocks.END_BYTES);
        end.setLong(Blocks.END_METER, begin.getLong(Blocks.BEGIN_METER));
        c.require(Caller.MEASURE_END, end);

        Memory solve = Caller.block(Blocks.SOLVE_BYTES);
        solve.setPointer(Blocks.SOLVE_MEASUREMENT, end.getPointer(Blocks.END_TEXT));
        solve.setLong(Blocks.SOLVE_MEASUREMENT_LENGTH, end.getLong(Blocks.END_LENGTH));
        c.require(Caller.SOLVE, solve);

        Memory prepare = Caller.block(Blocks.PREPARE_BYTES);
        prepare.setPointer(Blocks.PREPARE_TEXT, solve.getPointer(Blocks.SOLVE_CORRECTION));
        prepare.setLong(Blocks.PREPARE_LENGTH, solve.getLong(Blocks.SOLVE_CORRECTION_LENGTH));
        c.require(Caller.PREPARE, prepare);
        Memory render = Caller.block(Blocks.RENDER_BYTES);
        render.setLong(Blocks.RENDER_HANDLE, prepare.getLong(Blocks.PREPARE_HANDLE));
        render.setPointer(Blocks.RENDER_SOURCE, frame);
        render.setLong(Blocks.RENDER_SOURCE_STRIDE, 16L * WIDTH);
        render.setPointer(Blocks.RENDER_DESTINATION, frame);
        render.setLong(Blocks.RENDER_DESTINATION_STRIDE, 16L * WIDTH);
        render.setLong(Blocks.RENDER_WIDTH, WIDTH);
        render.setLong(Blocks.RENDER_ROWS, HEIGHT);
        render.setLong(Blocks.RENDER_DEPTH, FLOAT);
        render.setDouble(Blocks.RENDER_STRENGTH, 1);
        c.require(Caller.RENDER, render);

        for (long text : new long[] {end.getLong(Blocks.END_TEXT), solve.getLong(Blocks.SOLVE_CORRECTION), solve.getLong(Blocks.SOLVE_SKY),
            solve.getLong(Blocks.SOLVE_FOUND)}) {
            Memory free = Caller.block(Blocks.FREE_BYTES);
            free.setLong(Blocks.FREE_TEXT, text);
            c.require(Caller.FREE_TEXT, free);
        }
        // Blocks hold addresses only: the memory itself must live until here.
        Reference.reachabilityFence(frame);
    }
}
