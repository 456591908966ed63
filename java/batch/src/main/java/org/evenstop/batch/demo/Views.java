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

    /** Brings the median of the dusk to 2.3 stops under mid grey, where those of the two night photographs of the test material lie (2.2 and 2.4). */
    private static final double AT_DUSK = 2.65;

    /** Draws the view at a size of about 16:9. */
    LightCanvas draw(int width, int height, int threads) {
        double aspect = (double) width / height;
        return switch (this) {
            case SLIP -> Painter.draw(new Yard(Sky.day(), true), Eye.at(-0.2, 1.5, 0, 0.25, 1.35, 6, 0.60, aspect), width, height, threads);
            case JETTY -> Painter.draw(new Yard(Sky.day(), false), Eye.at(5.3, 1.75, 13.9, 4.2, 0.65, 34, 0.50, aspect), width, height, threads);
            case SHED -> Painter.draw(new Yard(Sky.day(), false), Eye.at(0.6, 1.45, 3.2, -3.6, 1.35, 9.2, 0.52, aspect), width, height, threads);
            case SKY -> Painter.draw(new Yard(Sky.day(), false), Eye.at(1.0, 1.7, 12, 0.6, 8.4, 40, 0.62, aspect), width, height, threads);
            case WINDOW -> Painter.draw(new Workshop(Sky.day()), windowEye(aspect), width, height, threads).withGlare(0.025);
            case DUSK -> Painter.draw(new Yard(Sky.dusk(), false), Eye.at(-0.6, 1.6, 1.6, 0.35, 1.5, 9, 0.62, aspect), width, height, threads).withGlare(0.07)
                .exposed(AT_DUSK);
            case BUILDER -> portrait(builder(), builderEye(aspect), Eye.at(9.4, 1.6, 13.0, 1.5, 1.35, 34, 0.34, aspect), width, height, threads);
            case SAILMAKER -> portrait(sailmaker(), sailmakerEye(aspect), Eye.at(0.2, 1.75, 4.2, 1.75, 2.02, 8.6, 0.36, aspect), width, height, threads);
        };
    }

    private static Person builder() {
        return new Person(0, 1.6, 0, 0.30, -1, Patches.lightSkin(), Person.Hair.KNITTED_CAP, Portrait.firstMaterial());
    }

    private static Person sailmaker() {
        return new Person(0, 1.6, 0, -0.36, -1, Patches.darkSkin(), Person.Hair.CURLS, Portrait.firstMaterial());
    }

    private static Eye builderEye(double aspect) {
        return Eye.at(0.14, 1.60, -1.35, 0.11, 1.535, 0, 0.33, aspect);
    }

    private static Eye sailmakerEye(double aspect) {
        return Eye.at(-0.14, 1.58, -1.35, -0.11, 1.535, 0, 0.33, aspect);
    }

    private static Eye windowEye(double aspect) {
        return Eye.at(-0.15, 1.45, 0.1, 0.05, 1.42, 6, 0.58, aspect);
    }

    /**
     * Which pixels of the drawn view show skin: {@code [height][width]}, lips, brows and beard included. Only views with a person near have any.
     *
     * @throws IllegalArgumentException for a view without one
     */
    boolean[] skin(int width, int height) {
        double aspect = (double) width / height;
        World world = switch (this) {
            case BUILDER -> new Portrait(Sky.dayWithFill(), builder(), LightCanvas.blank(16, 9), builderEye(aspect));
            case SAILMAKER -> new Portrait(Sky.dayWithFill(), sailmaker(), LightCanvas.blank(16, 9), sailmakerEye(aspect));
            case WINDOW -> new Workshop(Sky.day());
            default -> throw new IllegalArgumentException("no person stands near in view " + this);
        };
        Eye eye = this == BUILDER ? builderEye(aspect) : this == SAILMAKER ? sailmakerEye(aspect) : windowEye(aspect);
        int material = Person.SKIN + (this == WINDOW ? Workshop.personMaterial() : Portrait.firstMaterial());
        boolean[] skin = new boolean[width * height];
        Hit h = new Hit();
        for (int i = 0; i < skin.length; i++) {
            eye.look(world, h, (i % width + 0.5) / width, (i / width + 0.5) / height);
            skin[i] = h.seen == material;
        }
        return skin;
    }

    private static LightCanvas portrait(Person person, Eye eye, Eye behind, int width, int height, int threads) {
        int smallWidth = Math.max(16, width / 4);
        int smallHeight = Math.max(9, height / 4);
        LightCanvas background = Painter.draw(new Yard(Sky.day(), false), behind, smallWidth, smallHeight, threads).blurred(Math.max(1, smallWidth / 90));
        return Painter.draw(new Portrait(Sky.dayWithFill(), person, background, eye), eye, width, height, threads);
    }
}
