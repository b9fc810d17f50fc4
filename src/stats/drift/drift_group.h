// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/drift/lot_base.h"
#include "stats/drift/meter_company.h"
#include "stats/drift/own_usual.h"

#include <map>
#include <optional>
#include <span>
#include <string>
#include <tuple>
#include <utility>
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

/// What a level of a set is judged on.
/// base, cv, limit   as for UsualReading; frozen   the base changes no more
/// othersSlow        the middle slow mean of the other meters on the strip lot; 0 where they are too few
/// others            how many stand on it
/// othersMove        by how much the others on both lots moved, SD; nothing where they are too few
struct LevelBasis {
    std::size_t level = 0;
    double base = 0, cv = 0, limit = 0;
    bool frozen = false;
    double othersSlow = 0;
    std::size_t others = 0;
    std::optional<double> othersMove {};
};

/// set   nothing where no level can be judged: nothing of the meter has changed then
struct JudgedOnLots {
    std::optional<UsualSet> set {};
    UsualStop stop = UsualStop::None;
};

/// Takes a set in on given bases: those of the moment, or those that it was judged on before.
/// state  of the meter, moved forward past the set; bases  of some of the set's levels
JudgedOnLots judgeOnLots(UsualState& state, const SetOnLots& set, std::span<const LevelBasis> bases, const UsualSettings& settings);

/// All meters of one model together: what their lots read, and where each stands. It holds nothing of the past but that (handbook 6.5).
class DriftGroup {
public:
    using BaseKey = std::tuple<std::string, std::string, std::size_t>; ///< strip lot, control lot, level

    DriftGroup(const UsualSettings& usual, const BaseSettings& base, std::int64_t groupMeters, const HalfLimit& limit);

    /// The bases of the set's levels as they stand before it; none for a level that cannot be judged yet. The set's own meter is left out.
    std::vector<LevelBasis> basesFor(const SetOnLots& set);
    /// The set's results enter the bases of its lots.
    /// before  the meter as it stood before the set
    void learn(const SetOnLots& set, const UsualState& before);
    /// From here on the others see that meter so.
    void stand(const std::string& meter, MeterStanding standing) { m_company.stand(meter, std::move(standing)); }

    // To go on from what is on record.
    bool knowsBase(const BaseKey& key) const { return m_bases.contains(key); }
    LotBase& base(const BaseKey& key);

private:
    std::optional<LevelBasis> basisOf(const ControlOnLots& control, const LotBase& base, bool fewMeters) const;

    UsualSettings m_usual;
    BaseSettings m_baseSettings;
    HalfLimit m_limit;
    std::map<BaseKey, LotBase> m_bases;
    MeterCompany m_company;
};

} // namespace mk::stats
