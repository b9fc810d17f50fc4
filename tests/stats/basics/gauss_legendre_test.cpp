// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/gauss_legendre.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace mk::stats {

TEST(GaussLegendre, HasThePublishedFivePointRule)
{
    // Abramowitz & Stegun, table 25.4, n = 5 (from memory; analytic).
    const Quadrature rule = gaussLegendre(5, -1, 1);
    EXPECT_NEAR(rule.nodes[0], -0.906179845938664, 1e-15);
    EXPECT_NEAR(rule.nodes[1], -0.538469310105683, 1e-15);
    EXPECT_NEAR(rule.nodes[2], 0, 1e-15);
    EXPECT_NEAR(rule.weights[0], 0.236926885056189, 1e-15);
    EXPECT_NEAR(rule.weights[1], 0.478628670499366, 1e-15);
    EXPECT_NEAR(rule.weights[2], 0.568888888888889, 1e-15);
}

TEST(GaussLegendre, IntegratesPolynomialsOfDegreeTwiceTheNodesLessOne)
{
    for (const std::size_t count : { 1U, 2U, 7U, 40U, 300U }) {
        const Quadrature rule = gaussLegendre(count, 0, 1);
        EXPECT_TRUE(std::ranges::is_sorted(rule.nodes));
        for (const std::size_t degree : { std::size_t { 0 }, count, 2 * count - 1 }) {
            double integral = 0;
            for (std::size_t i = 0; i < count; ++i)
                integral += rule.weights[i] * std::pow(rule.nodes[i], static_cast<double>(degree));
            EXPECT_NEAR(integral, 1 / (static_cast<double>(degree) + 1), 1e-13) << count << " nodes, degree " << degree;
        }
    }
}

} // namespace mk::stats
