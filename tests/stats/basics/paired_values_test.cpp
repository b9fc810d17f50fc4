// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/paired_values.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

namespace mk::stats {

TEST(PairMoments, AreSumsAboutTheMeans) // analytic
{
    const auto moments = pairMoments(std::vector<double> { 1, 2, 3, 6 }, std::vector<double> { 2, 1, 4, 5 }).value();
    EXPECT_EQ(moments.n, 4U);
    EXPECT_EQ(moments.meanX, 3);
    EXPECT_EQ(moments.meanY, 3);
    EXPECT_EQ(moments.sxx, 14);
    EXPECT_EQ(moments.syy, 10);
    EXPECT_EQ(moments.sxy, 10);
}

TEST(PairMoments, ReachTwelveDigitsAtAMillionSd) // against long double
{
    std::mt19937 random(2);
    std::normal_distribution<double> draw(1e6, 1);
    std::vector<double> x(30'001);
    std::vector<double> y(30'001);
    for (std::size_t i = 0; i < x.size(); ++i) {
        x[i] = draw(random);
        y[i] = x[i] + draw(random);
    }
    long double meanX = 0;
    long double meanY = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        meanX += x[i];
        meanY += y[i];
    }
    meanX /= 30'001;
    meanY /= 30'001;
    long double sxx = 0;
    long double sxy = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        sxx += (x[i] - meanX) * (x[i] - meanX);
        sxy += (x[i] - meanX) * (y[i] - meanY);
    }
    const auto moments = pairMoments(x, y).value();
    EXPECT_NEAR(moments.sxx, static_cast<double>(sxx), 1e-12 * static_cast<double>(sxx));
    EXPECT_NEAR(moments.sxy, static_cast<double>(sxy), 1e-12 * static_cast<double>(sxy));
}

TEST(PairMoments, OfEqualValuesAreExactlyZero)
{
    const auto moments = pairMoments(std::vector<double>(7, 0.1), std::vector<double>(7, 1e300)).value();
    EXPECT_EQ(moments.sxx, 0);
    EXPECT_EQ(moments.syy, 0);
    EXPECT_EQ(moments.meanX, 0.1);
}

TEST(PairMoments, RefuseWhatTheyCannotAddUp)
{
    const std::vector<double> good = { 1, 2, 3 };
    EXPECT_FALSE(pairMoments({}, {}));
    EXPECT_FALSE(pairMoments(good, std::vector<double> { 1, 2 }));
    EXPECT_EQ(pairMoments(good, std::vector<double> { 1, std::nan(""), 2 }).error().text,
        "pair 2 holds something that is not a finite number; correct it or leave it out");
    EXPECT_FALSE(pairMoments(std::vector<double> { std::numeric_limits<double>::infinity(), 1, 2 }, good));
    EXPECT_NE(pairMoments(good, std::vector<double> { 0, 1e200, 0 }).error().text.find("too far apart"), std::string::npos);
}

} // namespace mk::stats
