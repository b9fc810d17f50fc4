// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/late_entry.h"

#include <algorithm>

namespace mk::registry {

EntryMark markOf(base::Moment performed, base::Moment recorded, std::string enteredBy, bool imported, const Policy& policy,
    std::optional<base::Moment> keptSince)
{
    EntryMark mark { recorded, std::move(enteredBy), imported, false, false, keptSince };
    const std::int64_t gap = keptSince.value_or(recorded).utcMs - performed.utcMs;
    mark.late = !imported && gap > policy.lateEntryMinutes * std::int64_t { 60'000 };
    mark.old = !imported && gap > policy.pastEntryHours * std::int64_t { 3'600'000 };
    return mark;
}

base::Done mayEnterLate(const acts::ControlRun& run, base::Moment now, const Policy& policy)
{
    if (!markOf(run.at, now, {}, false, policy).old || run.form || run.lateReason)
        return {};
    return base::refused(
        "the run of %1 lies more than %2 hours back; give the number of the paper form it stood on, or say why it is entered so late",
        base::Arg(base::Arg::Kind::Moment, base::toText(run.at)), policy.pastEntryHours);
}

bool needsAcceptance(const RunRecord& run)
{
    return run.mark && run.mark->old && !run.run.form;
}

bool needsAcceptance(const SetRecord& set)
{
    return std::ranges::any_of(set.runs, [](const RunRecord& run) { return needsAcceptance(run); });
}

bool recordedLate(const SetRecord& set)
{
    return std::ranges::any_of(set.runs, [](const RunRecord& run) { return run.mark && run.mark->late; });
}

} // namespace mk::registry
