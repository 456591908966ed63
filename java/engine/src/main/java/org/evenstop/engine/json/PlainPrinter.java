// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

import com.fasterxml.jackson.core.util.DefaultIndenter;
import com.fasterxml.jackson.core.util.DefaultPrettyPrinter;
import com.fasterxml.jackson.core.util.Separators;

/** Objects a field a line, arrays of numbers on one line, line feed on every system: files compare well. */
final class PlainPrinter extends DefaultPrettyPrinter {
    private static final long serialVersionUID = 1L;

    PlainPrinter() {
        super(Separators.createDefaultInstance().withObjectFieldValueSpacing(Separators.Spacing.AFTER));
        indentObjectsWith(new DefaultIndenter("  ", "\n"));
        indentArraysWith(FixedSpaceIndenter.instance);
    }

    private PlainPrinter(PlainPrinter base) {
        super(base);
    }

    @Override
    public DefaultPrettyPrinter createInstance() {
        return new PlainPrinter(this);
    }
}
