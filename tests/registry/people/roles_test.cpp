// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/people/roles.h"

#include "registry/acts/acts.h"

#include <gtest/gtest.h>

#include <set>
#include <string>

namespace mk::registry {
namespace {

using Kinds = std::set<std::string, std::less<>>;

// Written by hand from the handbook's roles, not from the table that is tested.
const Kinds kEverybodys { "records.shown", "secret.set", "session.begun", "session.ended" };
const Kinds kOnTheWard { "calibration.verified", "comparison.recorded", "control.run", "control_lot.received", "control_vial.opened",
    "correction.confirmed", "entry.annulled", "entry.corrected", "eqa.received", "eqa.recorded", "eqa.scored", "excursion.reported",
    "incident.reported", "lot.control_checked", "lot.event", "lot.sample_compared", "meter.moved", "nonconformity.opened",
    "nonconformity.step", "note.added", "notice.item_done", "range.assigned", "range.confirmed", "return.step", "shipment.received",
    "strip_lot.received", "strip_vial.opened", "technique.checked", "transfer.confirmed", "vial.ended" };
const Kinds kCoordinators { "acceptance.checked", "late_entry.accepted", "lookback.asked", "lookback.assigned", "lookback.recorded",
    "lookback.reopened", "meter.described", "meter.enrolled", "meter.taken_as_it_stands", "model.added", "notice.closed", "notice.issued",
    "operator.changed", "operator.competency", "operator.enrolled", "policy.changed", "review.signed", "secret.recovered",
    "sign_in.unlocked", "vial.released", "ward.added" };
const Kinds kPrograms { "backup.made", "clock.noticed", "comparison.judged", "control.judged", "lookback.opened", "meter.held",
    "meter.returned", "meter.withdrawn", "registry.founded", "registry.moved", "registry.restored", "review.overtaken", "sign_in.failed",
    "verdict.revised" };

/// The kinds of every alternative of the variant; two have a second name.
Kinds allKinds()
{
    Kinds kinds { "verdict.revised", "meter.withdrawn" };
    [&]<typename... A>(std::variant<A...>*) { (kinds.insert(std::string(kindOf(Act(A {})))), ...); }(static_cast<Act*>(nullptr));
    return kinds;
}

} // namespace

TEST(MayRecord, EveryKindByEveryRole)
{
    std::size_t seen = 0;
    for (const auto& kind : allKinds()) {
        const bool everybodys = kEverybodys.contains(kind);
        const bool onTheWard = kOnTheWard.contains(kind);
        const bool coordinators = kCoordinators.contains(kind);
        EXPECT_EQ(int(everybodys) + int(onTheWard) + int(coordinators) + int(kPrograms.contains(kind)), 1)
            << kind << " is in no list, or in two";
        EXPECT_EQ(mayRecord(Role::Inspector, kind), everybodys) << kind;
        EXPECT_EQ(mayRecord(Role::Nurse, kind), everybodys || onTheWard) << kind;
        EXPECT_EQ(mayRecord(Role::Coordinator, kind), everybodys || onTheWard || coordinators) << kind;
        EXPECT_EQ(isProgramsOwn(kind), kPrograms.contains(kind)) << kind;
        ++seen;
    }
    EXPECT_EQ(seen, kEverybodys.size() + kOnTheWard.size() + kCoordinators.size() + kPrograms.size());
}

TEST(MayRecord, NobodyWhatIsNotKnown)
{
    for (const Role role : { Role::Nurse, Role::Coordinator, Role::Inspector })
        EXPECT_FALSE(mayRecord(role, "journal.erased"));
    EXPECT_FALSE(mayBeEnteredFor("journal.erased"));
}

TEST(MayRecord, NothingThatDecidesOrSignsIsEnteredForAnother)
{
    for (const char* kind : { "review.signed", "policy.changed", "return.step", "correction.confirmed", "range.confirmed", "lot.event",
             "late_entry.accepted", "entry.corrected", "entry.annulled", "operator.changed", "operator.competency", "secret.set",
             "session.begun", "vial.released" })
        EXPECT_FALSE(mayBeEnteredFor(kind)) << kind;
    for (const char* kind : { "control.run", "incident.reported", "comparison.recorded" })
        EXPECT_TRUE(mayBeEnteredFor(kind)) << kind << " stands on the downtime form";
    for (const auto& kind : kCoordinators)
        EXPECT_FALSE(mayBeEnteredFor(kind)) << kind;
}

} // namespace mk::registry
