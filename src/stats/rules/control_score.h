// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/decimal.h"
#include "base/wide_decimal.h"

#include <optional>

namespace mk::stats {

/// Whether a score that stands exactly on a limit is beyond it.
enum class OnLimit {
    In, ///< not beyond: "exceeds" read strictly (handbook 6.2)
    Out ///< beyond
};

/// One control result as its distance from the target mean, in SD.
/// Limits are decided on whole numbers: as doubles, 6.2 with mean 5.6 and SD 0.3 would lie beyond 2 SD (handbook 6.3).
/// HI and LO are scores without a number: beyond every limit on their side (handbook 4.5).
class ControlScore {
public:
    /// returns the score, or nothing when the SD is not above 0: the rules are then not evaluable
    static std::optional<ControlScore> of(const base::Decimal& value, const base::Decimal& mean, const base::Decimal& sd);
    static ControlScore ofZ(const base::Decimal& z);
    /// z   finite; decided as a double, for scores with more digits than a Decimal holds
    static ControlScore ofZ(double z);
    static ControlScore aboveAll();
    static ControlScore belowAll();

    bool isNumber() const noexcept;
    /// The score in SD; plus or minus infinity for HI and LO.
    double z() const noexcept { return m_z; }
    /// 1 above the mean, -1 below it, 0 exactly on it.
    int side() const noexcept;

    /// limitSd   >= 0; at 0 the limit is the mean, and a score exactly on it is never beyond, whatever `onLimit` says
    /// side      1 asks for the limit above the mean, -1 for the one below
    bool beyond(int limitSd, int side, OnLimit onLimit) const noexcept;

    /// Whether the two scores lie more than `sd` (>= 0) apart; HI and LO lie apart from everything but themselves.
    static bool differByMoreThan(const ControlScore& a, const ControlScore& b, int sd, OnLimit onLimit) noexcept;

    /// Whether `a` is strictly higher than `b`; HI is higher than every number, LO lower.
    static bool higher(const ControlScore& a, const ControlScore& b) noexcept;

private:
    ControlScore(double z, base::WideInt distance, base::WideInt sd) : m_z(z), m_distance(distance), m_sd(sd) { }
    bool isExact() const noexcept { return m_sd > 0; }

    double m_z;
    base::WideInt m_distance; // the score is m_distance / m_sd; m_sd is 0 where only m_z is known
    base::WideInt m_sd;
};

} // namespace mk::stats
