// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"
#include "registry/control/usual_drift.h"
#include "registry/facts/run_context.h"
#include "registry/policy/policy.h"
#include "registry/terms/reason.h"

#include <array>
#include <deque>
#include <functional>
#include <span>

namespace mk::registry {

struct RunToJudge {
    base::Seq seq;
    const acts::ControlRun* run = nullptr;
    RunContext context;
};

/// Why a run may not count (handbook 4.2); empty where it may.
std::vector<ReasonCode> invalidCauses(const acts::ControlRun& run, const RunContext& context, const Zone& zone);

/// Validity, kind and range of one run; the rules are the set's affair.
acts::JudgedRun judgeRun(const RunToJudge& input, int attempt, const Zone& zone);

/// The set's verdict from its runs as judged (handbook 4.3): the newest attempt of each level within the window speaks.
/// runs    oldest first, times and strip lots beside them
Verdict verdictOf(std::span<const RunRecord> runs, const Policy& policy);

/// A counted result of an earlier set, for the bias since a drift began.
struct CountedResult {
    base::Moment at; ///< the last run of its set
    Level level {};
    double deviation = 0, mean = 0;
};

/// What a judgement may ask of what lies outside the meter's own series.
/// countedSince  the meter's counted results whose set ended at or after a moment
/// basesOf       none: no level can be judged against the meter's usual value
struct SetAsks {
    std::function<std::vector<CountedResult>(base::Moment)> countedSince;
    BasesOf basesOf {};
};

/// What one meter's sets so far mean for the next one. Moves forward set by set; a value, so that a step can be tried on a copy.
class MeterSeries {
public:
    /// policy  must outlive the series
    explicit MeterSeries(const Policy& policy);

    /// Another version of the policy judges from the next set on; what was counted goes on.
    void changeTo(const Policy& policy);

    /// Judges a set that comes after all that were followed.
    /// runs          oldest first, all of one set and one meter
    /// boundary      a repair, a software change or a return lies between the last set and this one
    /// events        what happened to its usual value since the last set, oldest first
    /// asks          what of other sets and meters the judgement may need
    acts::SetJudged judge(
        std::span<const RunToJudge> runs, bool boundary, std::span<const UsualEvent> events, const Zone& zone, const SetAsks& asks) const;

    /// Goes on past a set as it was recorded.
    void follow(const SetRecord& set);

    std::optional<base::Moment> lastAt() const { return m_lastAt; }
    /// The meter against its own usual value, as the last set left it; events since are not in it.
    stats::UsualState usualState() const { return stateFrom(m_drift.usual.value_or(acts::UsualFinding {})); }

private:
    /// The target set that judged a level last.
    struct Targets {
        base::StripLotId stripLot;
        base::ControlLotId controlLot;
        Stage stage = Stage::Range;
        std::string mean, sd;
    };

    bool startsSegment(std::span<const RunRecord> runs) const;
    std::vector<stats::FiredRule> applyRules(std::vector<RunRecord>& runs) const;
    std::optional<acts::UsualFinding> judgeByUsual(
        std::vector<RunRecord>& runs, std::span<const UsualEvent> events, const SetAsks& asks) const;
    acts::DriftFinding driftAfter(const acts::SetJudged& set, std::span<const RunRecord> runs, std::span<const stats::FiredRule> fired,
        const std::function<std::vector<CountedResult>(base::Moment)>& countedSince) const;
    std::optional<base::Moment> beganBy(const stats::FiredRule& fired, base::Moment now) const;
    void restart();

    const Policy* m_policy;
    stats::ControlSeries m_rules;      ///< on scores against the target
    stats::ControlSeries m_usualRules; ///< on scores against the meter's usual value
    acts::DriftFinding m_drift;
    std::array<std::optional<Targets>, 3> m_targets;
    std::array<std::deque<base::Moment>, 3> m_levelTimes; ///< sets with a counted result of the level, newest last
    std::deque<base::Moment> m_setTimes;                  ///< counted sets, newest last
    std::optional<base::Moment> m_lastAt;
};

} // namespace mk::registry
