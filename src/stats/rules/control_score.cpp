// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/rules/control_score.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

namespace mk::stats {

namespace {

/// a * b, or nothing where the digits do not fit.
std::optional<base::WideInt> scoreProduct(base::WideInt a, base::WideInt b)
{
    base::WideInt product = 0;
    if (__builtin_mul_overflow(a, b, &product))
        return std::nullopt;
    return product;
}

std::optional<base::WideInt> scoreDifference(std::optional<base::WideInt> a, std::optional<base::WideInt> b)
{
    base::WideInt difference = 0;
    if (!a || !b || __builtin_sub_overflow(*a, *b, &difference))
        return std::nullopt;
    return difference;
}

template <typename Number>
bool scoreExceeds(Number size, Number limit, OnLimit onLimit)
{
    return onLimit == OnLimit::Out ? size >= limit : size > limit;
}

} // namespace

std::optional<ControlScore> ControlScore::of(const base::Decimal& value, const base::Decimal& mean, const base::Decimal& sd)
{
    if (sd.mantissa() <= 0)
        return std::nullopt;
    // Below 10^24 each, which leaves room in 128 bits for every limit.
    const int decimals = std::max({ value.decimals(), mean.decimals(), sd.decimals() });
    const auto scaled = [decimals](const base::Decimal& decimal) { return mantissaWith(base::widened(decimal), decimals); };
    const base::WideInt distance = scaled(value) - scaled(mean);
    const base::WideInt scaledSd = scaled(sd);
    return ControlScore(static_cast<double>(distance) / static_cast<double>(scaledSd), distance, scaledSd);
}

ControlScore ControlScore::ofZ(const base::Decimal& z)
{
    return { z.toDouble(), z.mantissa(), base::powerOfTen(z.decimals()) };
}

ControlScore ControlScore::ofZ(double z)
{
    assert(std::isfinite(z));
    return { z, 0, 0 };
}

ControlScore ControlScore::aboveAll()
{
    return { std::numeric_limits<double>::infinity(), 0, 0 };
}

ControlScore ControlScore::belowAll()
{
    return { -std::numeric_limits<double>::infinity(), 0, 0 };
}

bool ControlScore::isNumber() const noexcept
{
    return std::isfinite(m_z);
}

int ControlScore::side() const noexcept
{
    if (isExact())
        return (m_distance > 0) - (m_distance < 0);
    return (m_z > 0) - (m_z < 0);
}

bool ControlScore::beyond(int limitSd, int side, OnLimit onLimit) const noexcept
{
    assert(limitSd >= 0 && (side == 1 || side == -1));
    if (limitSd == 0)
        return this->side() == side;
    if (isExact()) {
        if (const auto limit = scoreProduct(m_sd, limitSd))
            return scoreExceeds<base::WideInt>(side * m_distance, *limit, onLimit);
    }
    return scoreExceeds<double>(side * m_z, limitSd, onLimit);
}

bool ControlScore::differByMoreThan(const ControlScore& a, const ControlScore& b, int sd, OnLimit onLimit) noexcept
{
    assert(sd >= 0);
    if (a.isExact() && b.isExact()) {
        const auto apart = scoreDifference(scoreProduct(a.m_distance, b.m_sd), scoreProduct(b.m_distance, a.m_sd));
        const auto unit = scoreProduct(a.m_sd, b.m_sd);
        const auto limit = unit ? scoreProduct(*unit, sd) : std::nullopt;
        if (apart && limit)
            return scoreExceeds<base::WideInt>(*apart < 0 ? -*apart : *apart, *limit, onLimit);
    }
    // HI against HI gives no number, which is beyond nothing.
    return scoreExceeds<double>(std::fabs(a.m_z - b.m_z), sd, onLimit);
}

bool ControlScore::higher(const ControlScore& a, const ControlScore& b) noexcept
{
    if (a.isExact() && b.isExact()) {
        const auto left = scoreProduct(a.m_distance, b.m_sd);
        const auto right = scoreProduct(b.m_distance, a.m_sd);
        if (left && right)
            return *left > *right;
    }
    return a.m_z > b.m_z;
}

} // namespace mk::stats
