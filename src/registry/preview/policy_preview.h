// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/control_set.h"
#include "registry/meter/fitness.h"

#include <functional>
#include <span>

/// What a policy would have meant for the months behind: the same runs, pairs and events, judged by it in memory. Nothing is recorded.
namespace mk::registry {

/// A set as it stands on record, with what is known about everything its runs name. The records it points at must outlive it.
struct PreviewSet {
    SetRecord recorded;
    std::vector<RunContext> contexts; ///< one a run
};

struct PreviewVial {
    const StripVialRecord* vial = nullptr;
    const StripLotRecord* lot = nullptr;
};

/// Everything of one meter, oldest first.
struct PreviewMeter {
    MeterRecord meter;
    std::optional<ModelRecord> model;
    std::vector<WardSpell> wards; ///< oldest first
    std::vector<StateSpell> states;
    std::vector<StopRecord> stops;
    std::vector<IncidentRecord> incidents;
    std::vector<PairRecord> pairs;
    std::vector<CalibrationRecord> calibrations;
    std::vector<base::Moment> boundaries;
    std::vector<PreviewSet> sets;
};

using PolicyAt = std::function<const Policy&(base::Moment)>;

struct PreviewPeriod {
    base::Date from, to;
    base::Moment now; ///< nothing later is asked about
};

/// What stands at noon of a day, under the candidate and as it stood.
/// withdrawn   withdrawn, or the findings advise it
/// stopped     causes of the holds and withdrawals that began on that day under the candidate
/// reasons     the codes that block, or that name the state, at noon under the candidate
struct PreviewDay {
    base::Date day;
    bool usable = false, withdrawn = false;
    bool stoodUsable = false, stoodWithdrawn = false;
    std::vector<std::string> stopped, reasons;
    bool differs() const { return usable != stoodUsable || withdrawn != stoodWithdrawn; }
};

struct PreviewOfMeter {
    base::MeterId meter;
    base::WardId ward;             ///< at the end of the period
    std::vector<PreviewDay> days;  ///< every day on which the meter was enrolled
    std::size_t otherVerdicts = 0; ///< sets of the period that the candidate judges otherwise
};

/// What happened stays as it was: events, their holds, what people moved and signed. What policy decides is decided anew: verdicts, the
/// holds and withdrawals that follow from controls and comparisons, clearance, due dates. Such a stop ends as it did on record, or, where
/// there was none, as soon as the records show what its return demands.
PreviewOfMeter previewPolicy(const PreviewMeter& meter, std::span<const PreviewVial> vials, const Policy& candidate,
    const PolicyAt& inForce, const PreviewPeriod& period, const Zone& zone);

} // namespace mk::registry
