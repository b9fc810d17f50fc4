// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/fault.h"

#include <gtest/gtest.h>

namespace mk::base {
namespace {

TEST(FaultWithASentence, HasItsEnglishFilled)
{
    const Fault said = fault(FaultKind::Full, "the disk that holds %1 is full; %2 entries wait", "a.mkr", 3);
    EXPECT_EQ(said.kind, FaultKind::Full);
    EXPECT_EQ(said.text, "the disk that holds a.mkr is full; 3 entries wait");
    EXPECT_EQ(said.code, "the disk that holds %1 is full; %2 entries wait");
    ASSERT_EQ(said.args.size(), 2U);
    EXPECT_EQ(said.args[1].kind, Arg::Kind::Number);
}

TEST(FaultWithASentence, DoesNotFillWhatStandsInAPlace)
{
    EXPECT_EQ(badInput("'%1' is no %2", "100%2", "number").text, "'100%2' is no number");
}

TEST(FaultWithACause, KeepsTheCauseWhole)
{
    const Fault coded { FaultKind::NotFound, {}, "unknown-meter", { "M-07" } };
    const Fault whole = fault(coded.kind, "line %1: %2", 3, badInput("meter: %1", coded));
    EXPECT_EQ(plainly(whole), "line 3: meter: unknown-meter 'M-07'");
    ASSERT_EQ(whole.args[1].kind, Arg::Kind::Cause);
    EXPECT_EQ(whole.args[1].cause->args[0].cause->code, "unknown-meter");
}

} // namespace
} // namespace mk::base
