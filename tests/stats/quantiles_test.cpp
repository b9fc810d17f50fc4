// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/quantiles.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

namespace mk::stats {

TEST(Quantiles, AgreeWithTheReference) // tests/reference/statistics/quantiles.csv, six to nine digits
{
    const reference::ReferenceTable table("statistics/quantiles.csv");
    std::size_t found = 0;
    for (std::size_t row = 0; row < table.size(); ++row) {
        const double argument = table.number(row, "argument");
        const double value = table.number(row, "value");
        if (table.text(row, "function") == "normal quantile")
            EXPECT_NEAR(normalFactor(2 * argument - 1), value, 1e-9);
        else if (table.text(row, "function") == "t quantile 0.975, df")
            EXPECT_NEAR(studentFactor(0.95, argument), value, 1e-6);
        else
            continue;
        ++found;
    }
    EXPECT_EQ(found, 15U);
    EXPECT_NEAR(normalFactor(0.95), 1.959963984540054, 1e-14); // from memory, well known
    EXPECT_NEAR(studentFactor(0.95, 16), 2.11990529922101, 1e-12); // accuracy/method_comparison_expected.csv
    EXPECT_NEAR(studentFactor(0.95, 1e9), normalFactor(0.95), 1e-8);
}

TEST(Quantiles, KnowAConfidence)
{
    EXPECT_TRUE(isConfidence(0.95));
    EXPECT_FALSE(isConfidence(0));
    EXPECT_FALSE(isConfidence(1));
    EXPECT_FALSE(isConfidence(95));
}

} // namespace mk::stats
