// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/gs1.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

namespace mk::study {

namespace {

testing_studies::Outcome runGs1(std::vector<std::string> words)
{
    words.insert(words.begin(), "gs1");
    return testing_studies::runProgram(std::move(words));
}

} // namespace

TEST(Gs1Command, PrintsWhatTheContractNames)
{
    const auto outcome = runGs1({ R"(]d20112345678901231172703001012345\x1d21SN0001)", "--today", "2026-11-25", "--json" });
    EXPECT_EQ(outcome.status, 0) << outcome.err;
    EXPECT_EQ(outcome.out,
        R"({"format":1,"gtin":"12345678901231","expiry":"2027-03-31","lot":"12345","serial":"SN0001",)"
        R"("elements":[{"ai":"01","name":"GTIN","value":"12345678901231"},{"ai":"17","name":"Expiry","value":"270300"},)"
        R"({"ai":"10","name":"Lot","value":"12345"},{"ai":"21","name":"Serial number","value":"SN0001"}],"notes":[]})"
        "\n");
    EXPECT_EQ(runGs1({ "]d20112345678901231172703001012345\x1d"
                       "21SN0001",
                         "--json" })
                  .out,
        outcome.out);
    EXPECT_EQ(runGs1({ "(01)12345678901231(17)270300(10)12345(21)SN0001", "--json" }).out, outcome.out);
}

TEST(Gs1Command, ResolvesYearsFromTheDayThatIsGiven)
{
    const auto outcome = runGs1({ "(01)12345678901231(17)100101", "--today", "2060-01-01", "--json" });
    EXPECT_NE(outcome.out.find(R"("expiry":"2110-01-01")"), std::string::npos) << outcome.out;
}

TEST(Gs1Command, PrintsATableForPeople)
{
    const auto outcome = runGs1({ "011234567890123110ABC12317270331", "--today", "2026-11-25" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out,
        "(01)  GTIN  12345678901231\n"
        "(10)  Lot   ABC12317270331\n"
        "Look: Lot ABC12317270331 seems to hold (17) Expiry 2027-03-31 as well, as when the separator is lost; compare it with the "
        "print.\n");
    EXPECT_EQ(runGs1({ "011234567890123117270300", "--today", "2026-11-25" }).out,
        "(01)  GTIN    12345678901231\n"
        "(17)  Expiry  2027-03-31      scanned as 270300\n");
}

TEST(Gs1Command, RefusesInOneLine)
{
    for (const char* code : { "]C00112345678901231", "]E06291041500213", "0112345678901234", "", "(17)271331", "]d210ABC123" }) {
        const auto outcome = runGs1({ code });
        EXPECT_EQ(outcome.status, 2) << code;
        EXPECT_EQ(outcome.out, "");
        EXPECT_EQ(std::ranges::count(outcome.err, '\n'), 1) << code;
    }
    EXPECT_TRUE(runGs1({ "0112345678901231", "--today", "tomorrow" }).err.starts_with("--today: "));
    EXPECT_EQ(runGs1({}).status, 2);
}

} // namespace mk::study
