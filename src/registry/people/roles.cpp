// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/people/roles.h"

#include <algorithm>
#include <span>

namespace mk::registry {

namespace {

enum class By { Everybody, Staff, Coordinator, Program };

struct KindRow {
    std::string_view kind;
    By by;
    bool onPaper = false; ///< a downtime form has a line for it
};

// The database server's journal_guard (db/postgresql) keeps the same table for its own roles.
constexpr KindRow kKinds[] = {
    { "session.begun", By::Everybody },
    { "session.ended", By::Everybody },
    { "records.shown", By::Everybody },
    { "secret.set", By::Everybody }, // one's own; another's is a coordinator's, see store/sign_in

    { "strip_lot.received", By::Staff },
    { "strip_vial.opened", By::Staff },
    { "control_lot.received", By::Staff },
    { "control_vial.opened", By::Staff },
    { "range.assigned", By::Staff },
    { "range.confirmed", By::Staff },
    { "control.run", By::Staff, true },
    { "comparison.recorded", By::Staff, true },
    { "incident.reported", By::Staff, true },
    { "return.step", By::Staff },
    { "meter.moved", By::Staff, true },
    { "vial.ended", By::Staff, true },
    { "lot.event", By::Staff },
    { "entry.corrected", By::Staff },
    { "entry.annulled", By::Staff },
    { "correction.confirmed", By::Staff },
    { "note.added", By::Staff, true },
    { "transfer.confirmed", By::Staff },
    { "calibration.verified", By::Staff, true },
    { "eqa.received", By::Staff, true },
    { "eqa.recorded", By::Staff, true },
    { "eqa.scored", By::Staff },
    { "shipment.received", By::Staff, true },
    { "lot.control_checked", By::Staff, true },
    { "lot.sample_compared", By::Staff, true },
    { "excursion.reported", By::Staff, true },
    { "notice.item_done", By::Staff },
    { "technique.checked", By::Staff, true },
    { "nonconformity.opened", By::Staff },
    { "nonconformity.step", By::Staff },

    { "ward.added", By::Coordinator },
    { "model.added", By::Coordinator },
    { "meter.enrolled", By::Coordinator },
    { "meter.described", By::Coordinator },
    { "acceptance.checked", By::Coordinator },
    { "operator.enrolled", By::Coordinator },
    { "operator.changed", By::Coordinator },
    { "operator.competency", By::Coordinator },
    { "policy.changed", By::Coordinator },
    { "review.signed", By::Coordinator },
    { "late_entry.accepted", By::Coordinator },
    { "lookback.recorded", By::Coordinator },
    { "notice.issued", By::Coordinator },
    { "notice.closed", By::Coordinator },
    { "vial.released", By::Coordinator },
    { "secret.recovered", By::Coordinator },
    { "sign_in.unlocked", By::Coordinator },

    { "registry.founded", By::Program },
    { "registry.restored", By::Program },
    { "registry.moved", By::Program },
    { "backup.made", By::Program },
    { "sign_in.failed", By::Program },
    { "control.judged", By::Program },
    { "verdict.revised", By::Program },
    { "comparison.judged", By::Program },
    { "meter.held", By::Program },
    { "meter.withdrawn", By::Program },
    { "meter.returned", By::Program },
    { "lookback.opened", By::Program },
    { "clock.noticed", By::Program },
    { "review.overtaken", By::Program },
};

const KindRow* rowOf(std::string_view kind)
{
    const auto* found = std::ranges::find(kKinds, kind, &KindRow::kind);
    return found == std::end(kKinds) ? nullptr : found;
}

} // namespace

bool mayRecord(Role role, std::string_view kind)
{
    const KindRow* row = rowOf(kind);
    if (row == nullptr || row->by == By::Program)
        return false;
    return row->by == By::Everybody || role == Role::Coordinator || (row->by == By::Staff && role == Role::Nurse);
}

bool isProgramsOwn(std::string_view kind)
{
    const KindRow* row = rowOf(kind);
    return row != nullptr && row->by == By::Program;
}

bool mayBeEnteredFor(std::string_view kind)
{
    const KindRow* row = rowOf(kind);
    return row != nullptr && row->onPaper;
}

bool mayTakeOver(Role role)
{
    return role == Role::Coordinator;
}

bool asksForSecret(std::string_view kind)
{
    return kind == "review.signed";
}

} // namespace mk::registry
