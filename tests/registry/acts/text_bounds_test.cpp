// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/acts/text_bounds.h"

#include <gtest/gtest.h>

namespace mk::registry {

TEST(SensibleText, CountsCharactersNotBytes)
{
    std::string hundred;
    for (int i = 0; i < 100; ++i)
        hundred += "\u20ac";
    EXPECT_TRUE(sensibleText(TextKind::Id, hundred, "meter"));
    const auto longer = sensibleText(TextKind::Id, hundred + "x", "strip_vial");
    ASSERT_FALSE(longer);
    EXPECT_EQ(longer.error().text, "the strip vial has 101 characters, and may have 100; shorten it");
    EXPECT_TRUE(sensibleText(TextKind::Line, std::string(500, 'x'), "name"));
    EXPECT_FALSE(sensibleText(TextKind::Line, std::string(501, 'x'), "name"));
    EXPECT_TRUE(sensibleText(TextKind::Words, std::string(4000, 'x'), "comment"));
    EXPECT_FALSE(sensibleText(TextKind::Words, std::string(4001, 'x'), "comment"));
}

TEST(SensibleText, LeavesLinesToWords)
{
    EXPECT_TRUE(sensibleText(TextKind::Words, "one\r\n\ttwo", "comment"));
    EXPECT_FALSE(sensibleText(TextKind::Line, "one\ntwo", "name"));
    EXPECT_FALSE(sensibleText(TextKind::Id, "a\tb", "meter"));
    for (const TextKind kind : { TextKind::Id, TextKind::Line, TextKind::Words })
        for (const char* text : { "\x1b[2J", "\x7f", "\u009b", "\u202e", "\u2066", "\xc0\xaf" })
            EXPECT_FALSE(sensibleText(kind, text, "text")) << text;
}

TEST(SensibleText, LeavesEveryLanguageItsLetters)
{
    for (const TextKind kind : { TextKind::Id, TextKind::Line, TextKind::Words })
        for (const char* text : { "", "\u00c4rztin \u00df", "\u05d0\u05d1", "\u0639\u0631\u0628\u064a", "\u65e5\u672c", "\U0001f600",
                 "'); DROP TABLE x; --", "<b>", "=1+1" })
            EXPECT_TRUE(sensibleText(kind, text, "text")) << text;
    EXPECT_TRUE(sensibleText(TextKind::Words, "\u05d0\u200e!", "comment")) << "a mark that a bidirectional text needs";
    EXPECT_FALSE(sensibleText(TextKind::Id, "M-07\u200b", "meter")) << "looks like M-07";
}

TEST(SensibleTexts, LooksAtEveryTextOfAnAct)
{
    acts::ControlRun run;
    run.meter = base::MeterId("M-07");
    EXPECT_TRUE(sensibleTexts(Act(run)));
    run.comment = "two\nlines";
    EXPECT_TRUE(sensibleTexts(Act(run)));
    run.result = ErrorCode { "E\x1b" };
    EXPECT_FALSE(sensibleTexts(Act(run)));
    run.result = ErrorCode { "E-4" };
    run.stripVial = base::StripVialId("S\n1");
    const auto vial = sensibleTexts(Act(run));
    ASSERT_FALSE(vial);
    EXPECT_EQ(vial.error().text, "the strip vial holds a control character at byte 2; take it out");
    acts::PolicyChanged policy;
    policy.settings = { { "profile", "a\nb" } };
    EXPECT_FALSE(sensibleTexts(Act(policy)));
}

} // namespace mk::registry
