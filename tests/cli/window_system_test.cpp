// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/window_system.h"

#include <CLI/CLI.hpp>
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

namespace mk::cli {

namespace {

bool needsItFor(std::vector<std::string> words)
{
    CLI::App app;
    std::string text;
    app.add_option("--operator", text);
    app.add_subcommand("review", "")->add_option("month", text);
    auto* record = app.add_subcommand("note", "");
    record->add_option("--text", text);
    auto* summary = app.add_subcommand("study", "")->add_subcommand("summary", "");
    summary->add_option("file", text);
    summary->add_option("--plot", text);
    std::reverse(words.begin(), words.end()); // as CLI11 wants a vector
    app.parse(words);
    return needsWindowSystem(app);
}

} // namespace

TEST(WindowSystem, IsThereForWhatDraws)
{
    EXPECT_TRUE(needsItFor({ "review", "2026-10" }));
    EXPECT_TRUE(needsItFor({ "--operator", "rook", "review" }));
    EXPECT_TRUE(needsItFor({ "study", "summary", "a.csv", "--plot", "a.svg" }));
    EXPECT_TRUE(needsItFor({ "study", "summary", "a.csv", "--plot=a.svg" }));
}

TEST(WindowSystem, IsNotThereForAWordThatIsTyped)
{
    EXPECT_FALSE(needsItFor({ "--operator", "review", "note", "--text", "fine" }));
    EXPECT_FALSE(needsItFor({ "note", "--text", "review" }));
    EXPECT_FALSE(needsItFor({ "note", "--text=--plot=x" }));
    EXPECT_FALSE(needsItFor({ "study", "summary", "./review" }));
}

} // namespace mk::cli
