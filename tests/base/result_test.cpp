// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/result.h"

#include <gtest/gtest.h>

namespace mk::base {
namespace {

TEST(ResultDeathTest, TakingTheValueOfAFaultEndsTheProgramAndSaysWhy)
{
    GTEST_FLAG_SET(death_test_style, "threadsafe");
    const Result<int> failed(Fault { FaultKind::NotFound, {}, "unknown-meter", { "M-07" } });
    EXPECT_DEATH(static_cast<void>(*failed), "unknown-meter 'M-07'");
    EXPECT_DEATH(static_cast<void>(Result<int>(badInput("no digits")).value()), "no digits");
}

TEST(ResultDeathTest, TakingAFaultThatIsNotThereEndsTheProgram)
{
    GTEST_FLAG_SET(death_test_style, "threadsafe");
    EXPECT_DEATH(static_cast<void>(Result<int>(7).error()), "where there is none");
    EXPECT_DEATH(static_cast<void>(Done().error()), "where there is none");
}

} // namespace
} // namespace mk::base
