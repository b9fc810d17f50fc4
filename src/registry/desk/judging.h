// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"
#include "registry/desk/meter_work.h"

namespace mk::registry::desk {

/// Judges the sets of one batch, in the order in which they were run, and again where something became known late.
/// A set waits until its verdict is needed, so that the runs of one batch are judged together.
class Judging {
public:
    using Runs = std::vector<std::pair<base::Seq, acts::ControlRun>>;

    /// A set of which runs of this batch wait to be judged.
    struct Waiting {
        base::SetId set;
        std::vector<RunRecord> known; ///< runs that the set had before this batch
        Runs runs;
        base::Seq last;
        std::string person;
    };
    /// A set as this batch judged it from its own runs.
    struct Fresh {
        SetRecord set;
        std::vector<RunRecord> known;
    };

    /// works  kept from batch to batch, and moved forward
    Judging(Facts& facts, Entering& entering, const Occasion& occasion, MeterWorks& works);

    /// A run was entered: its set is judged when the next one begins, or when somebody needs its verdict.
    base::Done expect(base::Seq seq, const acts::ControlRun& run, std::vector<RunRecord> known, const std::string& person);
    /// Judges what waits, with everything that follows from it.
    base::Done settle();
    base::Done settleMeter(const base::MeterId& meter);
    /// Judges every set of a meter anew and enters what differs.
    base::Done rejudge(const base::MeterId& meter, base::Seq because, const std::string& person);
    /// What each set of a meter was judged as, and would be; nothing after: it would be a set no more. Nothing is entered.
    struct Retried {
        Verdict before {};
        std::optional<Verdict> after {};
    };
    /// run      whose typed values would change
    /// changed  to these; none: it would be gone
    base::Result<std::vector<Retried>> retry(const base::MeterId& meter, base::Seq run, const std::optional<acts::ControlRun>& changed);
    /// Something became known that runs judged since may have been judged without: their meters are judged anew by settle().
    /// id     a lot, a vial, a model, a person
    /// since  when it became true; none: from the beginning
    base::Done markLate(const std::string& id, std::optional<base::Moment> since, base::Seq because, const std::string& person);

    base::Result<MeterState> stateAt(const base::MeterId& meter, base::Moment at);
    /// Did something fail that no accepted set has ended? What waits is not looked at.
    base::Result<bool> fails(const base::MeterId& meter);
    /// Null where nothing waits.
    const Waiting* waitingOn(const base::MeterId& meter) const;
    /// Null for a set that this batch did not judge, or not from its own runs.
    const Fresh* freshlyJudged(const base::SetId& set) const;

    /// The meter's record changed otherwise than by a run: its working set is loaded anew.
    void forget(const base::MeterId& meter) { m_works.meters.erase(meter); }
    /// An act stands in the journal.
    void entered(const Act& act);
    /// Other acts than runs came in this batch: what was read of a set before them may no longer hold.
    void expectChanges() { m_runsOnly = false; }

private:
    /// Why a meter's recorded verdicts may no longer stand.
    struct Late {
        base::Seq because;
        std::string person;
    };

    Desk deskOf(const std::string& person);
    base::Result<MeterWork*> workOf(const base::MeterId& meter);
    base::Result<acts::SetJudged> judge(
        const MeterSeries& before, const MeterWork& work, const Runs& runs, const std::optional<SetRecord>& asRecorded);
    base::Result<std::vector<stats::LevelBasis>> basesOf(
        const stats::SetOnLots& set, const base::MeterId& meter, const Policy& policy, const std::optional<SetRecord>& asRecorded);
    base::Done standAfter(const SetRecord& set, const MeterSeries& before, const std::optional<SetRecord>& asRecorded);
    base::Result<Runs> runsOf(const Waiting& waiting, bool fromFacts);
    base::Done judgeWaiting(const Waiting& waiting);
    base::Done endEmptiedSets(
        const std::vector<SetRecord>& stored, const std::vector<base::SetId>& withRuns, base::Seq because, const std::string& person);
    base::Done judgeAgain(const base::MeterId& meter, base::Seq because, const std::string& person);
    base::Done followLate(const base::MeterId& meter, const Late& late);

    Facts& m_facts;
    Entering& m_entering;
    Occasion m_occasion;
    MeterWorks& m_works;
    std::map<base::MeterId, Waiting> m_waiting;
    std::map<base::MeterId, Late> m_late;
    std::map<base::SetId, Fresh> m_fresh;
    std::optional<std::int64_t> m_newestJudged; ///< last run of the newest judged set of any meter; asked when first needed
    bool m_runsOnly = true;
    bool m_looksBack; ///< sets of the past are judged: how the others stood is read anew for each
};

} // namespace mk::registry::desk
