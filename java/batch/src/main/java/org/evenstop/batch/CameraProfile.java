// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileChoice;
import org.evenstop.engine.profile.ProfileChooser;

/**
 * The profile of a run of the command line: named by the person, and then only doubted aloud, or found from the clips. Not safe
 * for use by several threads.
 */
final class CameraProfile {
    /** The word that leaves it to the clips. */
    static final String AUTO = "auto";
    /** Clips looked at: enough to know a camera by, few enough to keep their samples in memory (0.4 MB each). */
    static final int MOST_CLIPS = 200;

    private final Profile named;
    private final List<Measurement> shoot = new ArrayList<>();
    private ProfileChoice choice;

    private CameraProfile(Profile named) {
        this.named = named;
    }

    /** @throws org.evenstop.engine.InputException when the profile is neither "auto", nor shipped, nor a good file */
    static CameraProfile asked(String nameOrFile) {
        return new CameraProfile(AUTO.equals(nameOrFile) ? null : EvenstopFiles.profile(nameOrFile));
    }

    boolean isAuto() {
        return named == null;
    }

    /** Adds a clip to what is known of the shoot, in the order of the command line. After {@link #choose} it changes nothing. */
    void saw(Measurement clip) {
        if (choice == null && shoot.size() < MOST_CLIPS) {
            shoot.add(clip);
        }
    }

    /** Decides on the clips seen so far. Does nothing when a profile was named. */
    void choose() {
        if (isAuto()) {
            choice = ProfileChooser.choose(shoot);
            shoot.clear();
        }
    }

    /** Null before {@link #choose}, and when a profile was named. */
    ProfileChoice choice() {
        return choice;
    }

    /** The named or chosen profile; before {@link #choose} the default. */
    Profile profile() {
        return isAuto() ? choice == null ? startingPoint() : choice.profile() : named;
    }

    /** The profile as long as no clip was seen. */
    Profile startingPoint() {
        return isAuto() ? EvenstopFiles.profile(EvenstopFiles.profileNames().get(0)) : named;
    }

    /** A note where the clips seen speak strongly against the named profile; never for a chosen one. */
    Optional<String> objection() {
        return isAuto() ? Optional.empty() : ProfileChooser.objection(shoot, named);
    }

    /** For machines: name, who chose it, and for a chosen one how sure and why. */
    void describe(ObjectNode node) {
        node.put("name", profile().name()).put("by", isAuto() ? AUTO : "name");
        if (choice != null) {
            node.put("sure", choice.sureness()).put("words", choice.words());
            ArrayNode reasons = node.putArray("reasons");
            choice.reasons().forEach(reasons::add);
        }
    }
}
