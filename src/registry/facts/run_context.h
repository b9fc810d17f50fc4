// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"

/// What is known about everything that a run names: gathered here and nowhere else, so that the sheet, the verdict and the preview of a
/// policy judge by the same.
namespace mk::registry {

/// As it stood at the run's own time. Null: not on record.
struct RunContext {
    const ModelRecord* model = nullptr;
    const OperatorRecord* person = nullptr;
    const StripVialRecord* stripVial = nullptr;
    const StripLotRecord* stripLot = nullptr;
    const ControlVialRecord* controlVial = nullptr;
    const ControlLotRecord* controlLot = nullptr;
    const RangeRecord* range = nullptr; ///< in force then for strip lot x control lot x level, this meter's own before the group's
    MeterState state = MeterState::InService;
    std::optional<bool> competent {}; ///< as assessments and supervision tell; none: the dates of the person's enrolment
};

/// What the one who asks has worked out already.
struct ContextKnown {
    std::optional<MeterState> state {};  ///< of the meter at the run's time
    base::Seq before = base::kNewestSeq; ///< assessments of people from this entry on are left out
};

/// The pointers hold until the next forget() of the facts.
base::Result<RunContext> contextOf(Facts& facts, const acts::ControlRun& run, const ContextKnown& known = {});

/// The state that the spells give at a moment; a meter without one is only received.
/// spells  oldest first
MeterState stateIn(std::span<const StateSpell> spells, base::Moment at);

/// A context as values of its own, for another thread or a later moment.
struct KeptContext {
    std::optional<ModelRecord> model;
    std::optional<OperatorRecord> person;
    std::optional<StripVialRecord> stripVial;
    std::optional<StripLotRecord> stripLot;
    std::optional<ControlVialRecord> controlVial;
    std::optional<ControlLotRecord> controlLot;
    std::optional<RangeRecord> range;
    MeterState state = MeterState::InService;
    std::optional<bool> competent;

    /// Points into this value.
    RunContext context() const;
};
KeptContext keptOf(const RunContext& context);

/// The ranges that a result is held against before it is saved: its own level's, and those of the other levels that the ward runs, on
/// every control lot that has one with these strips. Null or empty: not on record.
struct RangesOfRun {
    const RangeRecord* own = nullptr;
    std::vector<const RangeRecord*> beside;
};
base::Result<RangesOfRun> rangesOf(Facts& facts, const acts::ControlRun& run);

} // namespace mk::registry
