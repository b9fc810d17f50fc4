// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "registry/acts/ladder.h"

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
/// A while in which a vial was quarantined, until it was let go again.
struct QuarantineSpell {
    base::Moment from, until;
};
struct StripVialRecord {
    base::Seq seq;
    acts::StripVialOpened vial;
    std::optional<Record<acts::VialEnded>> ended;        ///< since when it is out of use
    std::optional<Record<acts::VialEnded>> newestEnd {}; ///< quarantined and discarded later: the latter
    std::vector<QuarantineSpell> quarantines {};         ///< that are over
};
struct ControlVialRecord {
    base::Seq seq;
    acts::ControlVialOpened vial;
    std::optional<Record<acts::VialEnded>> ended;
    std::optional<Record<acts::VialEnded>> newestEnd {};
    std::vector<QuarantineSpell> quarantines {};
};

/// How a run came into the journal, against its own time.
struct EntryMark {
    base::Moment recordedAt;
    std::string enteredBy;                    ///< may be another than who ran it
    bool imported = false;                    ///< taken over: made in time, whatever its age
    bool late = false;                        ///< entered later than the policy's minutes after its own time
    bool old = false;                         ///< further back than the policy's hours
    std::optional<base::Moment> keptSince {}; ///< typed then at a workstation that could not reach the server; recorded when it could
    bool clockLeapt = false;                  ///< the workstation's clock had leapt forward and was not put right yet (handbook 17.15)
};

/// A run with what was judged of it. `run` holds the newest version of what was typed.
struct RunRecord {
    base::Seq seq;        ///< the entry that recorded it first
    base::Seq versionSeq; ///< the entry that gave it its present form (itself, or a correction)
    acts::ControlRun run;
    acts::JudgedRun judged;
    std::optional<EntryMark> mark {}; ///< where it was read from the journal
};

/// An entry of the journal with the act that it carries.
struct KnownEntry {
    base::Seq seq;
    base::Moment at; ///< when it was recorded
    std::string person;
    bool imported = false; ///< taken over from elsewhere
    Act act;
    std::optional<base::Seq> annulledBy {};
};

/// A correction of a run.
struct CorrectionRecord {
    base::Seq seq;
    bool confirmed = false; ///< by a second person, with it or later
};

/// A set as it was last judged.
struct SetRecord {
    base::Seq seq; ///< the entry of that verdict
    acts::SetJudged judged;
    std::vector<RunRecord> runs; ///< oldest first
};
inline bool isAccepted(const SetRecord& set)
{
    return isAccepted(set.judged.verdict);
}

/// A pair of the laboratory comparison with what was judged of it.
struct PairRecord {
    base::Seq seq;
    acts::ComparisonRecorded pair;
    acts::PairJudged judged;
};

/// What the pairs of one round say together; a pair without a round is a round of its own.
struct TierShare {
    std::string tier;
    std::size_t within = 0, of = 0, needed = 0;
    bool met() const { return within >= needed; }
};
/// outcome    Excluded where no pair is used
/// tiers      of the used pairs; one pair may lie outside only where their number allows it: from 20 pairs on at 95 %
/// sd, lower, upper   of the differences, meter minus laboratory; nothing below two pairs
/// worst      the place in the pairs of the one farthest from the laboratory, in parts of what is allowed
struct RoundJudged {
    std::string round;
    PairOutcome outcome = PairOutcome::Excluded;
    std::size_t used = 0, excluded = 0;
    std::vector<TierShare> tiers;
    double meanDifference = 0, meanPercent = 0;
    std::optional<double> sd, lower, upper;
    std::optional<std::size_t> worst;
    bool biasBeyondHalfLimit = false;
    std::optional<base::Moment> firstAt, lastAt; ///< of the used pairs
};

/// A calibration verification with what the policy of its time said of it.
struct CalibrationRecord {
    base::Seq seq;
    acts::CalibrationVerified act;
    bool passed = false;
};

/// A proficiency sample with what became of it.
struct EqaSample {
    Record<acts::EqaReceived> received;
    std::optional<Record<acts::EqaReturned>> returned;
    std::optional<Record<acts::EqaScored>> scored;
};

/// What the controls of one level said on one strip lot since a drift began: this meter, and each other one on the same lots.
struct DriftCompany {
    struct Deviation {
        std::size_t n = 0;
        double meanZ = 0;
    };
    Level level {};
    base::StripLotId stripLot;
    Deviation own;
    std::vector<Deviation> others;
};

/// A stop of a meter: a hold or a withdrawal with one cause.
struct StopRecord {
    base::Seq seq;
    acts::MeterStopped stop;
    std::optional<base::Moment> endedAt;
    std::optional<base::Seq> endedBy;
};

/// Where a meter's control statistics begin again.
/// returned  by its return from a withdrawal or its acceptance; else by what was reported of it
struct SegmentBoundary {
    base::Moment at;
    bool returned = false;
};

/// Where a meter stood after its newest counted set in some days, as the others see it.
struct UsualStanding {
    base::MeterId meter;
    base::Moment at;
    acts::UsualFinding finding;
};

struct StateSpell {
    base::Seq seq;
    MeterState state = MeterState::Received;
    base::Moment since;
    std::optional<MeterState> before;
};

struct LookbackRecord {
    /// A decision that was taken back: it stood until then.
    struct TakenBack {
        base::Seq by;
        base::Moment at, until;
        std::string decision;
    };
    base::Seq seq;
    acts::LookbackOpened lookback;
    std::optional<std::string> decision;
    std::optional<base::Seq> closedBy;
    std::optional<base::Moment> closedAt;
    std::vector<TakenBack> takenBack {}; ///< oldest first
};

/// A maker's notice with what became of it.
struct NoticeRecord {
    base::Seq seq;
    acts::NoticeIssued notice;
    base::Moment known;                    ///< when it was recorded; it acts from then on
    std::optional<base::Moment> closed {}; ///< when that was recorded
    std::vector<Record<acts::NoticeItemDone>> items {};
};

/// What took the worth from an accepted set: the lot or vial it was run with is no longer to be trusted.
/// stands  what was said of the lot; none for a vial
/// notice  that names the vial
struct Revocation {
    enum class Of { StripLot, ControlLot, Vial };
    Of what {};
    std::string id;
    std::optional<LotEventKind> stands;
    std::string notice;
    std::vector<base::Seq> evidence;
};

/// A meter's change of ward that a person recorded (T12).
struct TransferRecord {
    base::Seq seq;
    base::Moment at;
    base::WardId from, to;
    std::optional<base::Seq> confirmedBy;
};

/// A strip vial that stands open for a meter and may be used, and what of it the meter was controlled with by then.
struct OpenStripVial {
    StripVialRecord vial;
    bool lotControlled = false; ///< an accepted set of this meter on its lot
    bool controlled = false;    ///< and on the vial itself
};

/// From then on the meter was on that ward.
struct WardSpell {
    base::Seq seq;
    base::WardId ward;
    base::Moment since;
};

/// Everything about one meter that its fitness at one moment rests on. Nothing in it is later than that moment.
struct MeterHistory {
    MeterRecord meter;
    std::optional<ModelRecord> model;
    base::WardId ward;
    std::optional<StateSpell> state;
    std::vector<StopRecord> openStops;
    std::optional<SetRecord> newestSet;
    std::optional<SetRecord> newestAccepted; ///< accepted or warned
    std::optional<SetRecord> newestCounted;  ///< carries the drift that stands
    std::vector<IncidentRecord> incidents;   ///< oldest first, from the newest accepted set on, and the causes of open stops
    std::vector<IncidentRecord> cleanings;   ///< newest `soiled` and newest `cleaned`, where there are any
    std::vector<base::Moment> errorCodes;    ///< oldest first, the last 31 days
    std::optional<PairRecord> newestPair;    ///< of the newest comparison that was not excluded; its outcome is that of its whole round
    std::optional<PairRecord> newestPassedPair;
    std::optional<RoundJudged> newestRound;   ///< what that comparison says as a whole, where it is a round
    std::optional<StripVialRecord> stripVial; ///< that the newest set used
    std::optional<StripLotRecord> stripLot;
    bool otherStripVialOpen = false;              ///< another usable vial of the model is open on the ward
    std::vector<OpenStripVial> openStripVials {}; ///< for this model on the ward, where the newest set's vial ended or the policy asks
    std::vector<LookbackRecord> openLookbacks;
    std::vector<base::Seq> openNotices {};       ///< that name it, with nothing recorded of what was done about it
    std::optional<base::Seq> clockLeapt;         ///< the workstation's clock leapt forward and was not set back since
    std::optional<Ladder> ladder;                ///< something failed that no accepted set has ended
    std::optional<Revocation> revoked {};        ///< the newest accepted set clears no more, and none before it is in time
    std::optional<TransferRecord> transfer {};   ///< the newest one, unless it was taken over from elsewhere
    bool issuedOnEvidence = false;               ///< issued from reserve with the control that this asks for
    std::vector<DriftCompany> driftCompany;      ///< where a drift stands
    std::optional<base::Moment> usualEvent {};   ///< newest restart or acceptance of its usual value, where a set says that it moved
    std::optional<base::Seq> lotStopped {};      ///< its newest set's strip lot is off, and the coordinator has not closed it
    std::vector<EqaSample> eqa;                  ///< oldest first
    std::vector<CalibrationRecord> calibrations; ///< oldest first
};

} // namespace mk::registry
