// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/quantiles.h"

#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

namespace mk::stats {

namespace {

/// Boost answers with infinity instead of throwing.
using QuantilePolicy = boost::math::policies::policy<boost::math::policies::domain_error<boost::math::policies::ignore_error>,
    boost::math::policies::overflow_error<boost::math::policies::ignore_error>,
    boost::math::policies::evaluation_error<boost::math::policies::ignore_error>>;
using QuantileNormal = boost::math::normal_distribution<double, QuantilePolicy>;
using QuantileStudent = boost::math::students_t_distribution<double, QuantilePolicy>;

} // namespace

double normalFactor(double confidence)
{
    return boost::math::quantile(boost::math::complement(QuantileNormal(), (1 - confidence) / 2));
}

double studentFactor(double confidence, double df)
{
    return boost::math::quantile(boost::math::complement(QuantileStudent(df), (1 - confidence) / 2));
}

} // namespace mk::stats
