// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/registry_sample.h"
#include "support/plain_facts.h"

#include <gtest/gtest.h>

namespace mk::registry::sample {

using base::FaultKind;

/// A ward at the desk, without a database: model K1; meters M1 and M2 on W1; nurses N1 to N3, N4 whose competency has lapsed, coordinator
/// C1, inspector I1; strip lot S1 with vials V1 and V2; control lots CL and CH with vials L1, L2 and H1. Everything is there from 05:00 on
/// the first of May.
class DeskWard {
public:
    DeskWard();

    test::PlainFacts facts;
    bool imported = false;
    std::string author; ///< who enters; empty: nobody is named

    /// A comparison of M1 that N1 just made: the meter ten minutes ago, the blood drawn six minutes ago.
    acts::ComparisonRecorded pair(const std::string& id, const std::string& meter, const std::string& lab) const;
    /// Time passes.
    void goTo(std::string_view text) { facts.now = at(text); }
    /// Admits acts one after another and lets follow what follows: one batch.
    base::Done tryBatch(const std::vector<Act>& acts);
    base::Done tryAct(const Act& act) { return tryBatch({ act }); }
    /// The act must be admitted. returns  its entry
    base::Seq record(const Act& act);
    /// The code of the refusal; empty where the act is admitted.
    std::string codeOf(const Act& act);
    /// Its kind; nothing where the act is admitted.
    std::optional<FaultKind> faultOf(const Act& act);

    acts::ControlRun run(const std::string& set, Level level, const std::string& result) const;
    /// Low and high, both at the clock's time.
    void runSet(const std::string& set, const std::string& low, const std::string& high);
    std::vector<StopRecord> openStops(const std::string& meter = "M1");
    std::vector<std::string> openCauses(const std::string& meter = "M1");
    MeterState state(const std::string& meter = "M1");
    std::optional<Verdict> verdict(const std::string& set);

private:
    void layOut();
    desk::MeterWorks m_works;
};

} // namespace mk::registry::sample
