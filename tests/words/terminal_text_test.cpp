// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/terminal_text.h"

#include <gtest/gtest.h>

namespace mk::words {

TEST(TerminalText, WritesOutWhatSteersTheTerminal)
{
    EXPECT_EQ(visible("a\x1b[2Jb"), "a\\u001b[2Jb");
    EXPECT_EQ(visible("\x07\x08\r\x7f"), "\\u0007\\u0008\\u000d\\u007f");
    EXPECT_EQ(visible("\u009b31m"), "\\u009b31m") << "the same escape in one character";
    EXPECT_EQ(visible("\u202e01-M"), "\\u202e01-M");
    EXPECT_EQ(visible("caf\xe9"), "caf\\u00e9");
    EXPECT_EQ(visible("\u00e4 \u20ac\n\tx"), "\u00e4 \u20ac\n\tx");
}

TEST(TerminalText, KeepsATablesCellOnItsLine)
{
    EXPECT_EQ(alignedTable({ { "meter", "comment" }, { "M-01", "fine\nM-02  may be used" } }),
        "meter  comment\nM-01   fine\\u000aM-02  may be used\n");
}

} // namespace mk::words
