// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/utf8.h"

#include <gtest/gtest.h>

namespace mk::base {

TEST(NextCharacter, ReadsEveryLength)
{
    const std::string_view text = "a\u00e4\u20ac\U0001f600";
    std::size_t at = 0;
    for (const char32_t expected : { U'a', U'\u00e4', U'\u20ac', U'\U0001f600' })
        EXPECT_EQ(nextCharacter(text, at), expected);
    EXPECT_EQ(at, text.size());
}

/// source: RFC 3629, section 4: what the syntax leaves out
TEST(NextCharacter, RefusesWhatIsNotWellFormedAndStays)
{
    using namespace std::string_view_literals;
    for (const std::string_view text :
        { "\xc0\xaf"sv, "\xc1\xbf"sv, "\xe0\x80\xaf"sv, "\xf0\x80\x80\xaf"sv, "\xed\xa0\x80"sv, "\xed\xbf\xbf"sv, "\xf4\x90\x80\x80"sv,
            "\xf5\x80\x80\x80"sv, "\x80"sv, "\xc3"sv, "\xe2\x82"sv, "\xf0\x9f\x98"sv, "\xc3\x28"sv, "\xff"sv }) {
        std::size_t at = 0;
        EXPECT_EQ(nextCharacter(text, at), std::nullopt);
        EXPECT_EQ(at, 0U);
    }
    std::size_t at = 0;
    EXPECT_EQ(nextCharacter("\xed\x9f\xbf", at), U'\ud7ff');
    at = 0;
    EXPECT_EQ(nextCharacter("\xf4\x8f\xbf\xbf", at), U'\U0010ffff');
}

TEST(Characters, ThatSteerAreKnown)
{
    for (const char32_t c : { U'\0', U'\x1b', U'\x7f', U'\x9b' })
        EXPECT_TRUE(isControl(c));
    for (const char32_t c : { U' ', U'~', U'\u00a0', U'\u00e4' })
        EXPECT_FALSE(isControl(c));
    for (const char32_t c : { U'\u202a', U'\u202e', U'\u2066', U'\u2069' })
        EXPECT_TRUE(turnsDirection(c));
    for (const char32_t c : { U'a', U'\u200e', U'\u05d0', U'\u2070' })
        EXPECT_FALSE(turnsDirection(c)) << "right-to-left letters and marks are a language's";
}

} // namespace mk::base
