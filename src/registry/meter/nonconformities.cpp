// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/nonconformities.h"

#include "registry/lots/lot_items.h"

#include <algorithm>

namespace mk::registry {

using base::Moment;
using base::Result;
using base::Seq;

Result<std::vector<Nonconformity>> nonconformities(Facts& facts, const std::optional<std::string>& subject, std::optional<Moment> by)
{
    const auto opened = facts.facts<acts::NcOpened>(subject);
    if (!opened)
        return opened.error();
    std::vector<Nonconformity> folded;
    for (const auto& record : *opened) {
        if (by && record.act.at > *by)
            continue;
        auto steps = facts.facts<acts::NcStep>("entry " + std::to_string(record.seq.value));
        if (!steps)
            return steps.error();
        if (by)
            std::erase_if(*steps, [&](const Record<acts::NcStep>& step) { return step.act.at > *by; });
        folded.push_back(foldNonconformity(record, *steps));
    }
    return folded;
}

Result<std::optional<Nonconformity>> nonconformityOf(Facts& facts, Seq entry)
{
    const auto found = facts.entry(entry);
    if (!found)
        return found.error();
    const auto* opened = *found ? std::get_if<acts::NcOpened>(&(*found)->act) : nullptr;
    if (opened == nullptr)
        return std::optional<Nonconformity>();
    const auto steps = facts.facts<acts::NcStep>("entry " + std::to_string(entry.value));
    if (!steps)
        return steps.error();
    return std::optional(foldNonconformity({ entry, *opened }, *steps));
}

Result<std::optional<Seq>> stoppedLotItem(Facts& facts, const base::StripLotId& lot, Moment at)
{
    const auto known = nonconformities(facts, lot.value, at);
    if (!known)
        return known.error();
    for (const auto& each : *known)
        if (each.opened.type == kLotStoppedType && each.state != NcState::Closed)
            return std::optional(each.entry);
    return std::optional<Seq>();
}

Result<std::optional<acts::LookbackClosed>> closingOf(Facts& facts, const LookbackRecord& lookback)
{
    if (!lookback.closedBy)
        return std::optional<acts::LookbackClosed>();
    const auto closings = facts.facts<acts::LookbackClosed>("entry " + std::to_string(lookback.seq.value));
    if (!closings)
        return closings.error();
    const auto newest = std::ranges::find(*closings, *lookback.closedBy, &Record<acts::LookbackClosed>::seq);
    return newest == closings->end() ? std::nullopt : std::optional(newest->act);
}

} // namespace mk::registry
