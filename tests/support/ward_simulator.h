// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/drift/drift_group.h"

#include <cstdint>
#include <optional>
#include <vector>

/// Wards of meters that differ from one another as real ones do, day after day, judged by stats/drift; nobody acts on what is told.
namespace mk::test {

/// What happens to a meter from a day on: a step, or a ramp that reaches its size after so many days and goes on standing there.
struct Change {
    int day = 0;
    double percent = 0;
    int rampDays = 0;
};

/// cv, offsets   percent of one result; the SD between meters in parts of one result's SD
/// trueSd        the meters' own SD over the one that the target says
/// missing       part of the days on which a meter is not controlled; every   days between controls
/// wild          part of results that are gross errors of up to 40 %
/// correlated    correlation of the two results of a set, from 0 on: what a day does to both levels alike
/// lotDays       a new control lot every so many days, with a step of lotSd percent; 0: one lot
/// sinks         a control lot reads less and less, so many percent in lotDays
/// alone         the meters are judged against the typed mean, which is true, and know nothing of each other
/// whileTold     days between the controls of a meter that is told of; 0: as ever
/// changed       so many of the meters change; the others stay
struct SimulatedWard {
    int meters = 12, days = 365, levels = 2, every = 1;
    double cv = 3, offsets = 0.5, trueSd = 1, missing = 0.03, wild = 0, correlated = 0;
    int lotDays = 0;
    double lotSd = 2, sinks = 0;
    bool mmol = false, alone = false;
    int whileTold = 0;
    std::optional<Change> change {};
    int changed = 0;
    std::uint64_t seed = 1;
};

/// Of one meter. Days count from its change, or from the first day where it has none; nothing where it never came to that.
/// lotDays, meterSpells   of toldDays those on which the lot was named; how often a day named the meter and the day before did not
/// firstBad               the day of the first control since the change
/// began                  since when it was off, as the first telling after the change had it; below 0: before the change
struct SimulatedMeter {
    bool changed = false;
    int episodes = 0, toldDays = 0, stoppedDays = 0, lotDays = 0, meterSpells = 0;
    std::optional<int> firstBad {}, told {}, stopped {}, began {};
    std::optional<bool> lotAtFirst {}; ///< the first telling named the lot
};

std::vector<SimulatedMeter> simulate(const SimulatedWard& ward, const stats::UsualSettings& settings = {});

/// Over many wards: a meter-year of those that did not change.
struct FalseTells {
    double episodes = 0, toldDays = 0, stoppedDays = 0;
};
FalseTells falseTells(const std::vector<SimulatedMeter>& meters, int days);
/// The part of the changed meters that were told of, or stopped, within so many days of the change.
double toldWithin(const std::vector<SimulatedMeter>& meters, int days);
double stoppedWithin(const std::vector<SimulatedMeter>& meters, int days);
/// The day on which that part of them was told of; a large number where fewer were.
int toldAt(const std::vector<SimulatedMeter>& meters, double part);

} // namespace mk::test
