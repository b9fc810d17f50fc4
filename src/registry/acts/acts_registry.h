// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts_people.h"

#include <cstdint>
#include <utility>
#include <vector>

/// What the registry itself writes. Consequences carry everything that was judged, so that nobody has to judge again.
namespace mk::registry::acts {

struct RegistryFounded {
    static constexpr std::string_view kind = "registry.founded";
    static constexpr auto recordedBy = RecordedBy::Program;
    std::string registry; ///< a UUID
    std::string zone;
    std::string program;
    static void describe(auto& v, auto& s)
    {
        v("registry", s.registry, Field::Needed), v("zone", s.zone, Field::Needed), v("program", s.program, Field::Needed);
    }
};

struct PolicyChanged {
    static constexpr std::string_view kind = "policy.changed";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    std::int64_t version = 1;
    Opt<base::Moment> from {}; ///< none: since the beginning of time
    std::vector<std::pair<std::string, std::string>> settings {};
    Opt<base::OperatorId> by {}; ///< who signed it; none: the founding
    Opt<std::string> reason {};
};

/// One run as it was judged.
struct JudgedRun {
    base::Seq run; ///< the entry that recorded it (for a corrected run: the first one)
    Level level {};
    int attempt = 1; ///< 1 for the first of its level in the set
    bool valid = false;
    std::vector<std::string> invalidBecause;
    Opt<base::Decimal> low {}, high {}, mean {}, sd {}; ///< the target set that judged it
    Opt<Stage> stage {};
    Opt<bool> inRange {};
    Opt<double> z {};               ///< none: not evaluable, or no number
    Opt<double> u {};               ///< against the meter's own usual value; none: not evaluable, or no number
    Opt<double> usual {}, base {};  ///< that value as it stood before the set, in percent of the base of the lots; that base
    bool evaluable = false;         ///< the rules could speak
    bool counted = false;           ///< entered the counting rules
    std::vector<std::string> rules; ///< that fired, warnings too, as published
    base::StripLotId stripLot;
    base::ControlLotId controlLot;
    Verdict verdict = Verdict::Invalid; ///< of this run: Rejected, Invalid, Partial (no result), Warned, Accepted
};

struct LevelBias {
    Level level {};
    double bias = 0;    ///< in the unit of the targets
    double percent = 0; ///< of the mean
    std::int64_t n = 0;
    bool beyondHalfLimit = false;
    friend bool operator==(const LevelBias&, const LevelBias&) = default;
};

/// One level after a set, as stats::UsualLevel keeps it, and what it was judged with when it was last counted.
struct UsualLevelFinding {
    static constexpr bool kPacked = true;
    Level level {};
    std::int64_t n = 0;
    double sum = 0, start = 0;
    std::vector<double> newest;
    double slow = 0;
    std::int64_t count = 0;
    bool apart = false;
    Opt<double> silentAt {};
    base::ControlLotId controlLot;
    double base = 0, cv = 0, limit = 0; ///< of its lots; percent
    bool frozen = false;                ///< the base changes no more
    Opt<std::int64_t> learned {};       ///< controls that the usual value before this set was made of; none: not in this set
    Opt<double> usual {};               ///< that value
    Opt<double> othersSlow {};          ///< the middle slow mean of the other meters
    Opt<std::int64_t> others {};        ///< how many these are
    Opt<double> othersMove {};          ///< and of their moves, SD
    Opt<double> u {};                   ///< its score, held
    friend bool operator==(const UsualLevelFinding&, const UsualLevelFinding&) = default;
};

/// What a set says of the meter against its own usual value (handbook 6.5), and all that the next one is judged with.
struct UsualFinding {
    static constexpr bool kPacked = true;
    Opt<double> score {}; ///< of this set; none: not evaluable
    double up = 0, down = 0;
    Opt<base::Moment> upSince {}, downSince {}, began {}; ///< the last runs of sets
    Opt<std::string> told {};                             ///< "high", "low"
    bool ownStop = false;
    Opt<base::Moment> apartSince {}; ///< it stands apart since that set
    bool lot = false;                ///< the others on the lots moved the same way
    Opt<std::string> stops {};       ///< what is stopped: "meter", "lot"
    base::StripLotId stripLot;
    std::vector<UsualLevelFinding> levels;
    friend bool operator==(const UsualFinding&, const UsualFinding&) = default;
};

/// EWMA, CUSUM and what they and the long rules found, after one counted set.
struct DriftFinding {
    bool counted = false;                         ///< the set entered; else all below is as it was before
    double ewma = 0, cusumHigh = 0, cusumLow = 0; ///< SD units
    std::int64_t n = 0;                           ///< sets since the segment began
    Opt<base::Moment> highSince {}, lowSince {};  ///< where the current excursion of the CUSUM began
    std::vector<std::string> flags;               ///< EWMA, CUSUM, and long rules, standing at this set
    Opt<base::Moment> began {};                   ///< estimate, where something signals
    std::vector<LevelBias> bias;                  ///< since it began, a level each
    bool beyondHalfLimit = false;
    Opt<UsualFinding> usual {}; ///< where the policy judges by the meter's own usual value

    /// Does it say that the meter itself has drifted? A move of the whole lot is not the meter's.
    bool drifts() const { return !flags.empty() || (usual && usual->told && (!usual->lot || usual->stops == "meter")); }
    /// Since when, where it drifts: an estimate.
    std::optional<base::Moment> driftsSince() const { return usual && usual->told ? usual->began : began; }
    friend bool operator==(const DriftFinding&, const DriftFinding&) = default;
};

struct SetJudged {
    static constexpr std::string_view kind = "control.judged";
    static constexpr std::string_view kindRevised = "verdict.revised";
    static constexpr auto recordedBy = RecordedBy::Program;
    base::SetId set;
    base::MeterId meter;
    base::WardId ward; ///< where the meter was then
    base::Moment firstAt, lastAt;
    int attempt = 1;
    Verdict verdict = Verdict::Partial;
    std::vector<std::string> rules; ///< of all its runs, each once
    bool shift = false;             ///< a rule of the shift kind is among the reasons to reject
    bool segmentStart = false;      ///< counts began again here
    std::vector<JudgedRun> runs;
    DriftFinding drift;
    std::int64_t policyVersion = 1;
    std::int64_t ruleSet = 1;
    Opt<Verdict> oldVerdict {}; ///< revised: what stood before
    Opt<base::Seq> because {};  ///< revised: the entry that changed it
};

enum class PairOutcome { Inside, Outside, Excluded };
/// One pair of the laboratory comparison as it was judged.
struct PairJudged {
    static constexpr std::string_view kind = "comparison.judged";
    static constexpr auto recordedBy = RecordedBy::Program;
    base::PairId pair;
    base::MeterId meter;
    base::Moment at; ///< when both results were there
    PairOutcome outcome = PairOutcome::Excluded;
    std::vector<std::string> excludedBecause; ///< in words
    std::string limits;                       ///< "66 to 84 mg/dL", empty where excluded
    std::int64_t policyVersion = 1;
};

/// The meter is stopped: an act of policy that follows from another entry, or one more cause on a meter already stopped.
struct MeterStopped {
    static constexpr std::string_view kindHeld = "meter.held";
    static constexpr std::string_view kindWithdrawn = "meter.withdrawn";
    static constexpr auto recordedBy = RecordedBy::Program;
    base::MeterId meter;
    base::Moment at; ///< from when it holds; never before it could be known
    bool withdrawn = false;
    std::string cause; ///< a reason code
    base::Seq because;
    bool needsSignature = true; ///< false: the next accepted set ends it
    std::string by;             ///< "policy 1"
};

struct MeterReturned {
    static constexpr std::string_view kind = "meter.returned";
    static constexpr auto recordedBy = RecordedBy::Program;
    base::MeterId meter;
    base::Moment at;
    MeterState toState = MeterState::InService;
    base::Seq because;
    std::vector<base::Seq> ends; ///< the stops that it ends
};

struct LookbackOpened {
    static constexpr std::string_view kind = "lookback.opened";
    static constexpr auto recordedBy = RecordedBy::Program;
    base::MeterId meter;
    base::Moment at, from, to;
    std::string cause;
    base::Seq because;
    Opt<base::Moment> alternativeFrom {}; ///< another start that the reviewer may choose, saying why
    Opt<base::Moment> usedUntil {};       ///< used while not cleared, up to here
    Opt<std::string> scope {};            ///< what the cause lies in: "strip vial V7", "technique of N1" …; none: the meter
    Opt<std::string> direction {};        ///< "high control +18 %": which results matter
};

/// Something was recorded later that touches a month already signed.
struct ReviewOvertaken {
    static constexpr std::string_view kind = "review.overtaken";
    static constexpr auto recordedBy = RecordedBy::Program;
    std::string month;
    base::Seq review;  ///< the entry that signed it
    base::Seq because; ///< the entry that came after
};

struct ClockNoticed {
    static constexpr std::string_view kind = "clock.noticed";
    static constexpr auto recordedBy = RecordedBy::Program;
    std::string direction; ///< "back" or "forward"
    std::int64_t bySeconds = 0;
    base::Moment lastSeen, now;
};

} // namespace mk::registry::acts

namespace mk::registry {

using acts::PairOutcome;
template <>
struct Words<PairOutcome> {
    static constexpr std::string_view what = "outcome";
    static constexpr std::string_view all[] = { "inside", "outside", "excluded" };
};

} // namespace mk::registry
