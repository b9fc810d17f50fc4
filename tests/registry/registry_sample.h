// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/control_set.h"
#include "registry/meter/fitness.h"
#include "registry/terms/text_form.h"

#include <string>
#include <string_view>
#include <vector>

/// The common ground of the stories (handbook 16) as plain values, for the pure functions of the registry.
namespace mk::registry::sample {

const Zone& berlin();
base::Moment at(std::string_view text);
base::Decimal decimal(const std::string& typed);

/// Everything that a valid run on M1 names; a test spoils one part of it and looks.
struct Materials {
    ModelRecord model;
    OperatorRecord person;
    StripVialRecord stripVial;
    StripLotRecord stripLot;
    ControlVialRecord lowVial, highVial;
    ControlLotRecord lowLot, highLot;
    RangeRecord lowRange, highRange;
    MeterState state = MeterState::InService;

    Materials();
    RunContext contextOf(Level level) const;
};

acts::ControlRun aRun(const std::string& set, std::string_view time, Level level, const std::string& result);
/// Judges one set on a series and lets the series go on.
SetRecord judgeSet(MeterSeries& series, const Materials& materials, const std::vector<acts::ControlRun>& runs, bool boundary = false);
/// Low at the time, high two minutes later.
SetRecord judgePairOf(MeterSeries& series, const Materials& materials, const std::string& set, std::string_view time,
    const std::string& low, const std::string& high);

std::vector<std::string> codesOf(const Fitness& fitness);
/// In their order.
std::vector<std::string> codesOf(const std::vector<ReasonCode>& reasons);
bool hasCode(const Fitness& fitness, std::string_view code);

} // namespace mk::registry::sample
