// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/distributions.h"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

#include <cassert>
#include <cmath>
#include <numbers>

namespace mk::stats {

namespace {

/// Boost answers with NaN or infinity instead of throwing.
using QuietPolicy = boost::math::policies::policy<boost::math::policies::domain_error<boost::math::policies::ignore_error>,
    boost::math::policies::pole_error<boost::math::policies::ignore_error>,
    boost::math::policies::overflow_error<boost::math::policies::ignore_error>,
    boost::math::policies::evaluation_error<boost::math::policies::ignore_error>>;
using QuietNormal = boost::math::normal_distribution<double, QuietPolicy>;
using QuietStudent = boost::math::students_t_distribution<double, QuietPolicy>;
using QuietChiSquared = boost::math::chi_squared_distribution<double, QuietPolicy>;
using QuietFisher = boost::math::fisher_f_distribution<double, QuietPolicy>;

double upperTailOf(double confidence)
{
    assert(confidence > 0 && confidence < 1);
    return (1 - confidence) / 2;
}

} // namespace

double normalAbove(double x)
{
    return 0.5 * std::erfc(x / std::numbers::sqrt2);
}

double normalBetween(double lower, double upper)
{
    if (lower > 0)
        return normalAbove(lower) - normalAbove(upper);
    if (upper < 0)
        return normalAbove(-upper) - normalAbove(-lower);
    return 1 - normalAbove(-lower) - normalAbove(upper);
}

double normalDensity(double x)
{
    return std::exp(-x * x / 2) * std::numbers::inv_sqrtpi / std::numbers::sqrt2;
}

double studentTwoSided(double t, double df)
{
    assert(std::isfinite(t) && df > 0);
    return 2 * boost::math::cdf(boost::math::complement(QuietStudent(df), std::abs(t)));
}

double fisherAbove(double f, double numeratorDf, double denominatorDf)
{
    assert(std::isfinite(f) && f >= 0 && numeratorDf > 0 && denominatorDf > 0);
    return boost::math::cdf(boost::math::complement(QuietFisher(numeratorDf, denominatorDf), f));
}

double normalFactor(double confidence)
{
    return boost::math::quantile(boost::math::complement(QuietNormal(), upperTailOf(confidence)));
}

double studentFactor(double confidence, double df)
{
    assert(df > 0);
    return boost::math::quantile(boost::math::complement(QuietStudent(df), upperTailOf(confidence)));
}

Interval studentInterval(double estimate, double standardError, double df, double confidence)
{
    const double half = studentFactor(confidence, df) * standardError;
    return { estimate - half, estimate + half };
}

Interval sdInterval(double sd, double df, double confidence)
{
    assert(sd >= 0 && df > 0);
    const double tail = upperTailOf(confidence);
    const QuietChiSquared chi(df);
    return { sd * std::sqrt(df / boost::math::quantile(boost::math::complement(chi, tail))),
        sd * std::sqrt(df / boost::math::quantile(chi, tail)) };
}

} // namespace mk::stats
