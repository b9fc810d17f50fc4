// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/preview/candidate_line.h"
#include "store/read/reader.h"

namespace mk::store {

/// The register as it would stand of one meter, had another policy always been in force: its sets, pairs, stops and states come from a line
/// that the desk replayed, everything else from the index.
class CandidateReader final : public Reader {
public:
    /// reader, candidate  must outlive it
    CandidateReader(Reader&& reader, const registry::Policy& candidate) : Reader(std::move(reader)), m_candidate(candidate) { }

    /// Replays a meter; from then on it answers for that one. errors  Damaged, and what the index's reader says
    base::Result<const registry::CandidateLine*> replay(const base::MeterId& meter);

    const registry::Policy& policyAt(base::Moment) const override { return m_candidate; }
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
    bool isReplayed(const base::MeterId& meter) const { return m_line && m_line->meter() == meter; }

    const registry::Policy& m_candidate;
    std::optional<registry::CandidateLine> m_line;
};

} // namespace mk::store
