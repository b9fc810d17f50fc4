// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/usage_words.h"

#include <CLI/CLI.hpp>
#include <gtest/gtest.h>

namespace mk::cli {

namespace {

/// What is said of these words behind a command with a number, a choice and a text.
std::string saidOf(std::vector<std::string> words)
{
    CLI::App app;
    double number = 0;
    std::string choice, text;
    app.add_option("--target", number)->required();
    app.add_option("--limits", choice)->check(CLI::IsMember({ "exact", "steady" }));
    app.add_option("--plot", text);
    refuseOddValues(app);
    std::reverse(words.begin(), words.end()); // as CLI11 wants a vector
    try {
        app.parse(words);
    } catch (const CLI::ParseError& error) {
        return plainUsageError(error);
    }
    return "fine";
}

} // namespace

TEST(UsageWords, NameTheOptionAndWhatToDo)
{
    EXPECT_EQ(saidOf({ "--target", "5.6", "--plot", "a.png" }), "fine");
    EXPECT_EQ(saidOf({ "--target", "-5" }), "fine");
    EXPECT_EQ(saidOf({ "--target", "x" }), "--target: 'x' is not a number; write digits with at most one point, such as 5.6");
    EXPECT_EQ(saidOf({ "--target", "0x10" }), "--target: '0x10' is not a number; write digits with at most one point, such as 5.6");
    EXPECT_EQ(saidOf({ "--target", "nan" }), "--target: 'nan' is not a number; write digits with at most one point, such as 5.6");
    EXPECT_EQ(saidOf({ "--target", "5", "--limits", "loose" }), "--limits: 'loose' is none of its words; choose from exact,steady");
    EXPECT_EQ(saidOf({ "--target", "5", "--plot" }), "--plot has no value; give one behind it, or leave it out");
    EXPECT_EQ(saidOf({ "--target", "5", "--target", "6" }), "--target is given twice; keep one of them");
    EXPECT_EQ(saidOf({}), "--target is required; see --help");
}

TEST(UsageWords, RefuseAValueThatIsEmptyOrAnOption)
{
    EXPECT_EQ(saidOf({ "--target", "" }), "--target has an empty value; give one, or leave it out; see --help");
    EXPECT_EQ(saidOf({ "--target=5", "--plot", "" }), "--plot has an empty value; give one, or leave it out; see --help");
    EXPECT_NE(saidOf({ "--target", "5", "--plot", "--limits" }), "fine");
}

} // namespace mk::cli
