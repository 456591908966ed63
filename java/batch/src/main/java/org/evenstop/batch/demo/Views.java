// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

/** The pictures that clips are cut from: each place seen from one spot in one light. Drawn when asked for; nothing is kept. */
enum Views {
    /** The slip with boat and test board, in the sun. */
    SLIP,
    /** Along the jetty to the moored boats; made for a wide frame. */
    JETTY,
    /** Barrels, crates and the shed. */
    SHED,
    /** Mostly sky above the water. */
    SKY,
    /** Inside, against the window. */
    WINDOW,
    /** The yard at dusk with its lamps lit. */
    DUSK,
    /** A light-skinned boatbuilder out of doors. */
    BUILDER,
    /** A dark-skinned sailmaker out of doors. */
    SAILMAKER;

    /** Draws the view at a size of about 16:9. */
    LightCanvas draw(int width, int height, int threads) {
        double aspect = (double) width / height;
        return switch (this) {
            case SLIP -> Painter.draw(new Yard(Sky.day(), true), Eye.at(-0.2, 1.5, 0, 0.25, 1.35, 6, 0.60, aspect), width, height, threads);
            case JETTY -> Painter.draw(new Yard(Sky.day(), false), Eye.at(5.3, 1.75, 13.9, 4.2, 0.65, 34, 0.50, aspect), width, height, threads);
            case SHED -> Painter.draw(new Yard(Sky.day(), false), Eye.at(0.6, 1.45, 3.2, -3.6, 1.35, 9.2, 0.52, aspect), width, height, threads);
            case SKY -> Painter.draw(new Yard(Sky.day(), false), Eye.at(1.0, 1.7, 12, 0.6, 8.4, 40, 0.62, aspect), width, height, threads);
            case WINDOW -> Painter.draw(new Workshop(Sky.day()), Eye.at(-0.15, 1.45, 0.1, 0.05, 1.42, 6, 0.58, aspect), width, height, threads).withGlare(0.025);
            case DUSK -> Painter.draw(new Yard(Sky.dusk(), false), Eye.at(-0.6, 1.6, 1.6, 0.35, 1.5, 9, 0.62, aspect), width, height, threads).withGlare(0.07);
            case BUILDER -> portrait(Patches.lightSkin(), Person.Hair.KNITTED_CAP, 0.30, Eye.at(0.14, 1.60, -1.35, 0.11, 1.535, 0, 0.33, aspect),
                Eye.at(9.4, 1.6, 13.0, 1.5, 1.35, 34, 0.34, aspect), width, height, threads);
            case SAILMAKER -> portrait(Patches.darkSkin(), Person.Hair.CURLS, -0.36, Eye.at(-0.14, 1.58, -1.35, -0.11, 1.535, 0, 0.33, aspect),
                Eye.at(0.2, 1.75, 4.2, 1.75, 2.02, 8.6, 0.36, aspect), width, height, threads);
        };
    }

    private static LightCanvas portrait(double[] skin, Person.Hair hair, double turn, Eye eye, Eye behind, int width, int height, int threads) {
        int smallWidth = Math.max(16, width / 4);
        int smallHeight = Math.max(9, height / 4);
        LightCanvas background = Painter.draw(new Yard(Sky.day(), false), behind, smallWidth, smallHeight, threads).blurred(Math.max(1, smallWidth / 90));
        Person person = new Person(0, 1.6, 0, turn, -1, skin, hair, Portrait.firstMaterial());
        return Painter.draw(new Portrait(Sky.dayWithFill(), person, background, eye), eye, width, height, threads);
    }
}
