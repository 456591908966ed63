// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.util.List;
import java.util.Locale;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Solver;

/** The picture that shows what each preset makes of the same clips: in each row a clip as it was shot, then normalised by one preset after the other. */
final class PresetSheet {
    /** Clips that tell the presets apart: two faces, a face against a window, a landscape, a night. */
    static final List<String> CLIPS = List.of("04-builder-under", "05-sailmaker-over", "06-workshop-window", "07-harbour-sky", "10-dusk-lamps");
    static final List<String> PRESETS = List.of("even", "face", "landscape", "lowLight", "airy", "tuck");

    private static final int CELL_WIDTH = 272;
    private static final int CELL_HEIGHT = 153;
    private static final int GAP = 6;
    private static final int LABEL = 22;
    private static final int BACKGROUND = 24;
    private static final int INK = 205;

    private final Picture picture = new Picture(GAP + (1 + PRESETS.size()) * (CELL_WIDTH + GAP),
        GAP + CLIPS.size() * (LABEL + CELL_HEIGHT + GAP), BACKGROUND);
    private final Profile profile;

    PresetSheet(Profile profile) {
        this.profile = profile;
    }

    /** Adds the row of a clip, if the sheet has one for it. */
    void add(Shot shot, Measurement measurement, PlanarFrame frame) {
        int row = CLIPS.indexOf(shot.name());
        if (row < 0) {
            return;
        }
        put(row, 0, shot.how(), frame);
        for (int i = 0; i < PRESETS.size(); i++) {
            Preset preset = EvenstopFiles.preset(PRESETS.get(i));
            Correction correction = Solver.solve(measurement, profile, preset);
            PlanarFrame result = frame.allocateLike();
            new ScalarKernel().apply(frame, result, 0, frame.height(), correction, 1f);
            put(row, i + 1, String.format(Locale.ROOT, "%s %+.1f stops", PRESETS.get(i), correction.origin().stops()), result);
        }
    }

    private void put(int row, int column, String label, PlanarFrame frame) {
        int left = GAP + column * (CELL_WIDTH + GAP);
        int top = GAP + row * (LABEL + CELL_HEIGHT + GAP);
        int size = Picture.widthOf(label, 2) <= CELL_WIDTH ? 2 : 1;
        picture.write(label, left, top + (LABEL - 7 * size) / 2, size, INK);
        picture.put(frame, left, top + LABEL, CELL_WIDTH, CELL_HEIGHT);
    }

    byte[] png() {
        return picture.png();
    }
}
