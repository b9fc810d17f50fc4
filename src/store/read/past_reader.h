// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/preview/candidate_line.h"
#include "store/read/reader.h"

namespace mk::store {

/// A reader for somebody who asks about every day of one meter: it holds that meter's sets, pairs, stops and states, and answers from them;
/// everything else comes from the index. With a candidate it answers as if that policy had always been in force: what it holds is then what
/// the desk made of the recorded sets and pairs.
class PastReader final : public Reader {
public:
    /// candidate  none: as it stands on record. It must outlive the reader, as must reader's session
    explicit PastReader(Reader&& reader, const registry::Policy* candidate = nullptr)
        : Reader(std::move(reader)),
          m_candidate(candidate) { }

    /// Takes a meter in hand, in place of the one before. errors  Damaged, and what the index's reader says
    base::Done hold(const base::MeterId& meter);
    /// What the desk made of the held meter's past under the candidate.
    const registry::CandidateLine& line() const { return *m_line; }

    const registry::Policy& policyAt(base::Moment at) const override
    {
        return m_candidate != nullptr ? *m_candidate : Reader::policyAt(at);
    }
    base::Result<std::optional<registry::StateSpell>> stateAt(const base::MeterId& meter, base::Moment at) override;
    base::Result<std::vector<registry::StateSpell>> states(const base::MeterId& meter) override;
    base::Result<std::vector<registry::StopRecord>> stops(const base::MeterId& meter) override;
    base::Result<std::vector<registry::PairRecord>> pairs(const base::MeterId& meter) override;
    base::Result<std::vector<registry::PairRecord>> pairsThatCount(const base::MeterId& meter, base::Moment at) override;
    base::Result<std::vector<registry::SetRecord>> sets(const base::MeterId& meter, base::Moment from, base::Moment to) override;
    base::Result<std::vector<registry::SetRecord>> newestSets(const base::MeterId& meter, base::Moment by, int most) override;
    base::Result<std::optional<registry::SetRecord>> newestAcceptedSet(const base::MeterId& meter, base::Moment by) override;
    base::Result<std::optional<registry::SetRecord>> newestCountedSet(const base::MeterId& meter, base::Moment by) override;
    base::Result<std::vector<base::SetId>> setsWithRuns(const base::MeterId& meter) override;

private:
    base::Result<registry::MeterPast> recorded(const base::MeterId& meter);
    /// Is that meter in hand? While its past is replayed, the line alone knows how far.
    bool holds(const base::MeterId& meter) const { return m_past.meter == meter && !meter.empty(); }
    const std::vector<registry::SetRecord>& heldSets() const { return m_replaying ? m_line->sets() : m_past.sets; }

    const registry::Policy* m_candidate;
    registry::MeterPast m_past;
    std::optional<registry::CandidateLine> m_line;
    bool m_replaying = false;
};

} // namespace mk::store
