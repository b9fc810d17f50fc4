// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/drift/lot_base.h"
#include "stats/drift/meter_company.h"
#include "stats/drift/own_usual.h"

#include <map>
#include <optional>
#include <string>
#include <tuple>
#include <vector>

namespace mk::stats {

/// Half of what a comparison allows: `below` absolute below the threshold, else percent; in the units of the results.
struct HalfLimit {
    double threshold = 75, below = 6, percent = 6;
    double percentAt(double base) const { return base < threshold ? 100 * below / base : percent; }
};

/// A counted result on its lots.
/// cv, mean   of the established or other typed target in force: percent, and in the units of the results; nothing where none is typed
struct ControlOnLots {
    std::size_t level = 0;
    std::string controlLot {};
    UsualReading::Kind kind = UsualReading::Kind::Number;
    double value = 0;
    std::optional<double> cv {}, mean {};
};

/// at        when the set ended, milliseconds
/// fewMeters so few meters can stand on the lots that they have no base of their own: the typed mean serves
struct SetOnLots {
    std::string meter {};
    std::int64_t at = 0;
    std::string stripLot {};
    bool fewMeters = false;
    std::vector<ControlOnLots> controls {};
};

struct LevelBasis {
    std::size_t level = 0;
    double base = 0, cv = 0, limit = 0;
};
/// bases     of the levels that can be judged; a set without any changes nothing of the meter
/// set       nothing where no level can be judged
/// others    for each level of the set, in its order: by how much the others moved, in SD
struct JudgedOnLots {
    std::vector<LevelBasis> bases {};
    std::optional<UsualSet> set {};
    std::vector<OthersMove> others {};
    UsualStop stop = UsualStop::None;
};

/// All meters of one model together: what their lots read, and where each stands. It holds nothing of the past but that (handbook 6.5).
class DriftGroup {
public:
    using BaseKey = std::tuple<std::string, std::string, std::size_t>; ///< strip lot, control lot, level

    DriftGroup(const UsualSettings& usual, const BaseSettings& base, std::int64_t groupMeters, const HalfLimit& limit);

    /// state  of the meter, moved forward past the set
    JudgedOnLots judge(UsualState& state, const SetOnLots& set);

    // To go on from what is on record.
    bool knowsBase(const BaseKey& key) const { return m_bases.contains(key); }
    LotBase& base(const BaseKey& key);
    MeterCompany& company() { return m_company; }

private:
    std::optional<UsualReading> readingOf(const ControlOnLots& control, const LotBase& base, bool fewMeters) const;

    UsualSettings m_usual;
    BaseSettings m_baseSettings;
    HalfLimit m_limit;
    std::map<BaseKey, LotBase> m_bases;
    MeterCompany m_company;
};

} // namespace mk::stats
