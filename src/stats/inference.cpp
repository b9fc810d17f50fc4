// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/inference.h"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <string>

namespace mk::stats {

namespace {

/// Boost answers with NaN or infinity instead of throwing; the studies look for them.
using InferencePolicy = boost::math::policies::policy<boost::math::policies::domain_error<boost::math::policies::ignore_error>,
    boost::math::policies::pole_error<boost::math::policies::ignore_error>,
    boost::math::policies::overflow_error<boost::math::policies::ignore_error>,
    boost::math::policies::evaluation_error<boost::math::policies::ignore_error>>;
using InferenceNormal = boost::math::normal_distribution<double, InferencePolicy>;
using InferenceStudentsT = boost::math::students_t_distribution<double, InferencePolicy>;
using InferenceChiSquared = boost::math::chi_squared_distribution<double, InferencePolicy>;
using InferenceFisher = boost::math::fisher_f_distribution<double, InferencePolicy>;

} // namespace

double normalUpper(double tail)
{
    assert(tail > 0 && tail < 1);
    return boost::math::quantile(boost::math::complement(InferenceNormal(), tail));
}

double studentsUpper(double tail, double df)
{
    assert(tail > 0 && tail < 1 && df > 0);
    return boost::math::quantile(boost::math::complement(InferenceStudentsT(df), tail));
}

double studentsTwoSided(double t, double df)
{
    assert(std::isfinite(t) && df > 0);
    return 2 * boost::math::cdf(boost::math::complement(InferenceStudentsT(df), std::abs(t)));
}

double fisherUpper(double f, double numeratorDf, double denominatorDf)
{
    assert(std::isfinite(f) && f >= 0 && numeratorDf > 0 && denominatorDf > 0);
    return boost::math::cdf(boost::math::complement(InferenceFisher(numeratorDf, denominatorDf), f));
}

Interval sdInterval(double sd, double df, double confidence)
{
    assert(sd >= 0 && df > 0 && confidence > 0 && confidence < 1);
    const double tail = (1 - confidence) / 2;
    const InferenceChiSquared chi(df);
    return { sd * std::sqrt(df / boost::math::quantile(boost::math::complement(chi, tail))),
        sd * std::sqrt(df / boost::math::quantile(chi, tail)) };
}

base::Done checkConfidence(double confidence)
{
    if (!(confidence > 0 && confidence < 1))
        return base::badInput("the confidence must lie between 0 and 1, such as 0.95");
    return {};
}

base::Done checkNumbers(std::span<const double> values, std::string_view what)
{
    const std::string one(what);
    if (values.empty())
        return base::badInput("there is no " + one + "; give at least one");
    const auto odd = std::ranges::find_if_not(values, [](double value) { return std::isfinite(value); });
    if (odd != values.end())
        return base::badInput(one + ' ' + std::to_string(odd - values.begin() + 1) + " is not a finite number; correct it or leave it out");
    return {};
}

base::Fault tooFarApart()
{
    return base::badInput("the values are too far apart to compute with; look for a slip in them");
}

} // namespace mk::stats
