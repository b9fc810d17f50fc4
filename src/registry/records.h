// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts.h"

#include <optional>
#include <string>
#include <vector>

/// What the register knows, as plain values: an act together with the entry that carries it and what has become of it.
namespace mk::registry {

template <typename A>
struct Record {
    base::Seq seq;
    A act;
};

using ModelRecord = Record<acts::ModelAdded>;
using MeterRecord = Record<acts::MeterEnrolled>;
using OperatorRecord = Record<acts::OperatorEnrolled>;
using RangeRecord = Record<acts::RangeAssigned>;
using IncidentRecord = Record<acts::IncidentReported>;
using ReturnRecord = Record<acts::ReturnStep>;

struct StripLotRecord {
    base::Seq seq;
    acts::StripLotReceived lot;
    std::vector<Record<acts::LotEvent>> events; ///< oldest first
};
struct ControlLotRecord {
    base::Seq seq;
    acts::ControlLotReceived lot;
    std::vector<Record<acts::LotEvent>> events;
};
struct StripVialRecord {
    base::Seq seq;
    acts::StripVialOpened vial;
    std::optional<Record<acts::VialEnded>> ended;
};
struct ControlVialRecord {
    base::Seq seq;
    acts::ControlVialOpened vial;
    std::optional<Record<acts::VialEnded>> ended;
};

/// A run with what was judged of it. `run` holds the newest version of what was typed.
struct RunRecord {
    base::Seq seq;          ///< the entry that recorded it first
    base::Seq versionSeq;   ///< the entry that gave it its present form (itself, or a correction)
    acts::ControlRun run;
    acts::JudgedRun judged;
};

/// A set as it was last judged.
struct SetRecord {
    base::Seq seq;          ///< the entry of that verdict
    acts::SetJudged judged;
    std::vector<RunRecord> runs; ///< oldest first
};

/// A pair of the laboratory comparison with what was judged of it.
struct PairRecord {
    base::Seq seq;
    acts::ComparisonRecorded pair;
    acts::PairJudged judged;
};

/// A stop of a meter: a hold or a withdrawal with one cause.
struct StopRecord {
    base::Seq seq;
    acts::MeterStopped stop;
    std::optional<base::Moment> endedAt;
    std::optional<base::Seq> endedBy;
};

struct StateSpell {
    base::Seq seq;
    MeterState state = MeterState::Received;
    base::Moment since;
    std::optional<MeterState> before;
};

struct LookbackRecord {
    base::Seq seq;
    acts::LookbackOpened lookback;
    std::optional<std::string> decision;
    std::optional<base::Seq> closedBy;
    std::optional<base::Moment> closedAt;
};

/// Everything about one meter that its fitness at one moment rests on. Nothing in it is later than that moment.
struct MeterHistory {
    MeterRecord meter;
    std::optional<ModelRecord> model;
    base::WardId ward;
    std::optional<StateSpell> state;
    std::vector<StopRecord> openStops;
    std::optional<SetRecord> newestSet;
    std::optional<SetRecord> newestAccepted;        ///< accepted or warned
    std::optional<SetRecord> newestCounted;         ///< carries the drift that stands
    std::vector<IncidentRecord> incidents;          ///< oldest first, from the newest accepted set on, and the causes of open stops
    std::vector<IncidentRecord> cleanings;          ///< newest `soiled` and newest `cleaned`, where there are any
    std::vector<base::Moment> errorCodes;           ///< oldest first, the last 31 days
    std::optional<PairRecord> newestPair;           ///< that is not excluded
    std::optional<PairRecord> newestPassedPair;
    std::optional<StripVialRecord> stripVial;       ///< that the newest set used
    std::optional<StripLotRecord> stripLot;
    bool otherStripVialOpen = false;                ///< another usable vial of the model is open on the ward
    std::vector<LookbackRecord> openLookbacks;
    std::optional<base::Seq> clockLeapt;            ///< the workstation's clock leapt forward and was not set back since

};

} // namespace mk::registry
