// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/terminal/usage.h"

#include <CLI/CLI.hpp>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdint>
#include <optional>

namespace mk::study {

namespace {

/// What is said of these words behind a command with a number, a choice and a text.
std::string saidOf(std::vector<std::string> words)
{
    CLI::App app;
    double number = 0;
    std::optional<std::int64_t> entry;
    int months = 0;
    std::string choice, text;
    app.add_option("--target", number)->required();
    oneOf(app.add_option("--limits", choice), { "exact", "steady" });
    app.add_option("--plot", text);
    app.add_option("--as-of", entry);
    between(app.add_option("--months", months), 1, 60);
    refuseOddValues(app);
    refuseOddNumbers(app);
    const std::vector<std::string> typed = words;
    std::reverse(words.begin(), words.end()); // as CLI11 wants a vector
    try {
        app.parse(words);
    } catch (const CLI::ParseError& error) {
        return usageFault(app, error, typed).text;
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
    EXPECT_EQ(saidOf({ "--target", "5", "--as-of", "x" }), "--as-of: 'x' is not a whole number; write digits, such as 12");
    EXPECT_EQ(saidOf({ "--target", "5", "--as-of", "0x10" }), "--as-of: '0x10' is not a whole number; write digits, such as 12");
    EXPECT_EQ(saidOf({ "--target", "5", "--as-of", "12" }), "fine");
    EXPECT_EQ(saidOf({ "--target", "5", "--limits", "loose" }), "--limits: 'loose' is none of its words; choose from exact,steady");
    EXPECT_EQ(saidOf({ "--target", "5", "--plot" }), "--plot has no value; give one behind it, or leave it out");
    EXPECT_EQ(saidOf({ "--target", "5", "--target", "6" }), "--target is given twice; keep one of them");
    EXPECT_EQ(saidOf({}), "--target is required; see --help");
}

TEST(UsageWords, RefuseAValueThatIsEmptyOrAnOption)
{
    EXPECT_EQ(saidOf({ "--target", "" }), "--target has an empty value; give one, or leave it out");
    EXPECT_EQ(saidOf({ "--target=5", "--plot", "" }), "--plot has an empty value; give one, or leave it out");
    EXPECT_EQ(saidOf({ "--target", "5", "--plot", "--limits" }), "--plot has no value before '--limits'; give one, or leave it out");
}

/// 010 is eight to the parser, and ten to whoever types it.
TEST(UsageWords, RefuseAZeroBeforeAWholeNumber)
{
    for (const std::string typed : { "010", "08", "+010", "-010", "00" })
        EXPECT_EQ(saidOf({ "--target", "5", "--as-of=" + typed }), "--as-of: '" + typed + "' begins with a zero; leave it out, such as 12");
    for (const std::string typed : { "0", "10", "100" })
        EXPECT_EQ(saidOf({ "--target", "5", "--as-of=" + typed }), "fine");
    EXPECT_EQ(saidOf({ "--target", "05.6" }), "fine");
}

TEST(UsageWords, NameBothEndsOfARange)
{
    for (const std::string typed : { "1", "60", "+7" })
        EXPECT_EQ(saidOf({ "--target", "5", "--months", typed }), "fine");
    for (const std::string typed : { "0", "61", "x", "-1", "99999999999999999999" })
        EXPECT_EQ(saidOf({ "--target", "5", "--months", typed }), "--months: '" + typed + "' is not a whole number from 1 to 60");
}

/// The option that lacks its value is named, not the word that happens to stand last.
TEST(UsageWords, NameTheOptionThatHasNoValue)
{
    EXPECT_EQ(saidOf({ "--target", "5", "--plot", "--as-of", "3" }), "--plot has no value before '--as-of'; give one, or leave it out");
    EXPECT_EQ(saidOf({ "--target", "5", "0x9" }), "'0x9' is not known here; see --help for the commands and options");
}

/// What the user typed may hold any of the words of a message.
TEST(UsageWords, SayATypedTextAsItIs)
{
    EXPECT_EQ(saidOf({ "--target", " = " }), "--target: ' = ' is not a number; write digits with at most one point, such as 5.6");
    EXPECT_EQ(saidOf({ "--target", "5", "--limits", "x: not in {y}: 1 required" }),
        "--limits: 'x: not in {y}: 1 required' is none of its words; choose from exact,steady");
    EXPECT_EQ(saidOf({ "--target", "5", "--plot", "a", "--plot", "b: 1 required" }), "--plot is given twice; keep one of them");
}

} // namespace mk::study
