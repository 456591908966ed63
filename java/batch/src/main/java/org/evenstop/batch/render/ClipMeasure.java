// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import java.util.ArrayList;
import java.util.List;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.Measurement;

/**
 * The measurement of a clip file and what was wrong with the file.
 *
 * @param measurement with the reader's notes added to its own
 * @param damage      found on the way
 */
public record ClipMeasure(Measurement measurement, ClipReader.Damage damage) {

    /** Measures up to 24 frames spread over the clip. The reader's own place in the clip is not moved. */
    public static ClipMeasure of(ClipReader reader, ProgressListener progress) {
        ClipMeter meter = new ClipMeter(reader.info().shape().standard());
        long expected = Math.min(ClipMeter.DEFAULT_FRAMES, reader.info().framesKnown() ? reader.info().frames() : ClipMeter.DEFAULT_FRAMES);
        progress.at("measure", 0, expected);
        ClipReader.Damage damage = reader.sample(ClipMeter.DEFAULT_FRAMES, frame -> {
            meter.add(frame.picture(), frame.seconds());
            progress.at("measure", meter.frames(), expected);
        });
        Measurement measured = meter.finish(reader.info().path().toString());
        List<String> notes = new ArrayList<>(measured.notes());
        reader.info().notes().forEach(note -> notes.add(sentence(note)));
        if (!damage.isNone()) {
            notes.add(sentence(damage.sentence()));
        }
        return new ClipMeasure(withNotes(measured, notes), damage);
    }

    /** The note that the measurement has about the damage; none has this text when there is no damage. */
    public String damageNote() {
        return sentence(damage.sentence());
    }

    private static String sentence(String note) {
        return Character.toUpperCase(note.charAt(0)) + note.substring(1) + ".";
    }

    /** The same measurement with other notes. */
    public static Measurement withNotes(Measurement m, List<String> notes) {
        return new Measurement(m.clip(), m.frames(), m.levels(), m.red(), m.green(), m.blue(), m.clippedHigh(), m.clippedLow(), m.ceiling(),
            m.skin(), m.subject(), m.noise(), m.noiseTiles(), m.detail(), m.chroma(), m.area(), m.horizon(), m.sample(), notes);
    }
}
