// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"
#include "registry/desk/meter_work.h"

namespace mk::registry {

/// What was judged of one meter by a policy, and what followed from that and from what people did; oldest first.
struct MeterPast {
    base::MeterId meter;
    std::vector<SetRecord> sets;
    std::vector<PairRecord> pairs;
    std::vector<StopRecord> stops;
    std::vector<StateSpell> states;
};

/// One meter's months under another policy. The desk judges each recorded set and pair anew, in the order in which they were run, and stops
/// and frees the meter by the same rules; what it enters is kept here and nowhere else.
/// What happened stays as it was: events with their holds, what people moved and signed. A stop that waits for a signature ends as it did
/// on record; where there was none, as soon as the records show what its return demands.
class CandidateLine final : public desk::Entering {
public:
    CandidateLine(MeterPast recorded, const Policy& candidate);

    /// facts  answer for this meter's sets, pairs, stops and states from this line, and with the candidate when asked for a policy
    base::Done replay(Facts& facts);

    // As far as it was replayed.
    const std::vector<SetRecord>& sets() const { return m_sets; }
    const std::vector<PairRecord>& pairs() const { return m_pairs; }
    /// Ids of all sets that were run, in the order of their last run.
    std::vector<base::SetId> setsRun() const;
    std::vector<StopRecord> stops() const;
    std::vector<StateSpell> states() const;
    /// Sets whose verdict is another one than on record, of those that ended in [from, to].
    std::size_t otherVerdicts(base::Moment from, base::Moment to) const;

    base::Result<base::Seq> enter(const Act& act, const std::string& person) override;

private:
    struct Event {
        base::Moment at;
        const SetRecord* set = nullptr;
        const PairRecord* pair = nullptr;
    };
    std::vector<Event> events() const;
    base::Done happen(Facts& facts, const Event& event);
    base::Result<base::Seq> enterSet(const acts::SetJudged& judged);
    base::Result<base::Seq> enterPair(const acts::PairJudged& judged);
    void enterStop(acts::MeterStopped stopped, base::Seq seq);
    void endStops(const acts::MeterReturned& returned);
    void endWhatTheRecordsShow(Facts& facts);
    const StopRecord* recordedStop(const acts::MeterStopped& stopped) const;

    MeterPast m_recorded;
    const Policy& m_candidate;
    std::vector<SetRecord> m_sets;
    std::vector<PairRecord> m_pairs;
    std::vector<StopRecord> m_kept; ///< stops on record that no policy decides
    std::vector<StopRecord> m_stops;
    std::vector<StateSpell> m_beneath; ///< states that people and events made, without those that a stop gives
    base::Moment m_now = base::kBeginningOfTime;
    base::Moment m_next = base::kEndOfTime; ///< when the next set, or the next comparison, ends
    base::Seq m_seq;
    desk::MeterWorks m_works;
    desk::Judging* m_judging = nullptr; ///< while an event happens
};

} // namespace mk::registry
