// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/gs1_command.h"

#include <CLI/CLI.hpp>
#include <gtest/gtest.h>

#include <algorithm>

namespace mk::cli {

namespace {

struct Gs1Outcome {
    int status = 2;
    std::string out;
    std::string err;
};

/// Runs `gs1 …` as the program would; a usage error is status 2 with nothing run.
Gs1Outcome runGs1Command(std::vector<std::string> arguments)
{
    CLI::App app;
    bool json = false;
    app.add_flag("--json", json);
    std::function<int()> chosen;
    addGs1Command(app, json, chosen);
    arguments.insert(arguments.begin(), "gs1");
    std::reverse(arguments.begin(), arguments.end()); // as CLI11 wants a vector
    testing::internal::CaptureStdout();
    testing::internal::CaptureStderr();
    Gs1Outcome outcome;
    try {
        app.parse(arguments);
        outcome.status = chosen ? chosen() : 2;
    } catch (const CLI::ParseError&) {
    }
    outcome.out = testing::internal::GetCapturedStdout();
    outcome.err = testing::internal::GetCapturedStderr();
    return outcome;
}

} // namespace

TEST(Gs1Command, PrintsWhatTheContractNames)
{
    const auto outcome = runGs1Command({ R"(]d20112345678901231172703001012345\x1d21SN0001)", "--today", "2026-11-25", "--json" });
    EXPECT_EQ(outcome.status, 0) << outcome.err;
    EXPECT_EQ(outcome.out,
        R"({"format":1,"gtin":"12345678901231","expiry":"2027-03-31","lot":"12345","serial":"SN0001",)"
        R"("elements":[{"ai":"01","name":"GTIN","value":"12345678901231"},{"ai":"17","name":"Expiry","value":"270300"},)"
        R"({"ai":"10","name":"Lot","value":"12345"},{"ai":"21","name":"Serial number","value":"SN0001"}],"notes":[]})"
        "\n");
    EXPECT_EQ(runGs1Command({ "]d20112345678901231172703001012345\x1d"
                              "21SN0001",
                                "--json" })
                  .out,
        outcome.out);
    EXPECT_EQ(runGs1Command({ "(01)12345678901231(17)270300(10)12345(21)SN0001", "--json" }).out, outcome.out);
}

TEST(Gs1Command, ResolvesYearsFromTheDayThatIsGiven)
{
    const auto outcome = runGs1Command({ "(01)12345678901231(17)100101", "--today", "2060-01-01", "--json" });
    EXPECT_NE(outcome.out.find(R"("expiry":"2110-01-01")"), std::string::npos) << outcome.out;
}

TEST(Gs1Command, PrintsATableForPeople)
{
    const auto outcome = runGs1Command({ "011234567890123110ABC12317270331", "--today", "2026-11-25" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out,
        "(01)  GTIN  12345678901231\n"
        "(10)  Lot   ABC12317270331\n"
        "Look: Lot ABC12317270331 seems to hold (17) Expiry 2027-03-31 as well, as when the separator is lost; compare it with the "
        "print.\n");
    EXPECT_EQ(runGs1Command({ "011234567890123117270300", "--today", "2026-11-25" }).out,
        "(01)  GTIN    12345678901231\n"
        "(17)  Expiry  2027-03-31      scanned as 270300\n");
}

TEST(Gs1Command, RefusesInOneLine)
{
    for (const char* code : { "]C00112345678901231", "]E06291041500213", "0112345678901234", "", "(17)271331", "]d210ABC123" }) {
        const auto outcome = runGs1Command({ code });
        EXPECT_EQ(outcome.status, 2) << code;
        EXPECT_EQ(outcome.out, "");
        EXPECT_EQ(std::ranges::count(outcome.err, '\n'), 1) << code;
    }
    EXPECT_TRUE(runGs1Command({ "0112345678901231", "--today", "tomorrow" }).err.starts_with("--today: "));
    EXPECT_EQ(runGs1Command({}).status, 2);
}

} // namespace mk::cli
