// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/patterns.h"

#include "words/said.h"

#include <vector>

namespace mk::words {
namespace {

using namespace registry;

std::vector<Pattern> everyPattern()
{
    std::vector<Pattern> all;
    const base::Date day = base::parseDate("2026-05-04").value();
    for (std::size_t code = 0; code < std::size(Words<PatternCode>::all); ++code)
        for (const std::size_t count : { 1u, 12u })
            for (const bool ended : { false, true })
                all.push_back({ static_cast<PatternCode>(code),
                    { count, count, Level::Low, "60", "S1", "L1", "set", day, day, base::Moment { 0, 0 }, ended }, { "M1" }, {} });
    return all;
}

TEST(PatternWords, EachHasAWholeSentenceThatBlamesNobody)
{
    for (const auto& pattern : everyPattern()) {
        test::expectWhole(patternSaid(pattern));
        EXPECT_TRUE(patternSaid(pattern).endsWith(QLatin1Char('.')));
        for (const char* blame : { "fraud", "invent", "fake", "false", "suspicious", "cheat", "fault", "careless" })
            EXPECT_FALSE(patternSaid(pattern).contains(QLatin1String(blame))) << patternSaid(pattern).toStdString();
    }
    for (std::size_t kind = 0; kind < std::size(Words<FailureSubject>::all); ++kind)
        test::expectWhole(patternSaid(FailurePattern { static_cast<FailureSubject>(kind), "V1", 3, {} }));
}

TEST(PatternWords, NothingEscapesTranslation)
{
    const test::Pseudo pseudo;
    for (const auto& pattern : everyPattern())
        test::expectTranslated(patternSaid(pattern));
    for (std::size_t kind = 0; kind < std::size(Words<FailureSubject>::all); ++kind)
        test::expectTranslated(patternSaid(FailurePattern { static_cast<FailureSubject>(kind), "V1", 3, {} }));
    test::expectTranslated(patternsNote());
}

TEST(PatternWords, SayWhatStandsInTheRecord)
{
    const base::Date first = base::parseDate("2026-05-02").value(), last = base::parseDate("2026-05-13").value();
    const Pattern same { PatternCode::SameValue, { .count = 12, .level = Level::Low, .value = "60", .first = first, .last = last },
        { "M1" }, {} };
    EXPECT_EQ(patternSaid(same).toStdString(), "M1, low: 60 was recorded 12 times running, Sat 2 May 2026 to Wed 13 May 2026.");
    const Pattern vial { PatternCode::VialNotOpen, { .count = 2, .vial = "L1", .ended = true }, { "M1" }, {} };
    EXPECT_EQ(patternSaid(vial).toStdString(), "M1: 2 runs name vial L1 after it was ended.");
}

} // namespace
} // namespace mk::words
