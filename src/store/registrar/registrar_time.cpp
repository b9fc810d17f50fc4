// SPDX-License-Identifier: GPL-3.0-or-later
// What a person's entry must satisfy beyond what an import does: its time, its words, and the acceptance of late entries.
#include "registry/acts/free_text.h"
#include "registry/control/late_entry.h"
#include "store/registrar/registrar_batch.h"
#include "store/db/rows.h"

#include <algorithm>

namespace mk::store {

using base::badInput;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::refused;
using namespace registry;

namespace {

constexpr int kDeclaredAheadDays = 31;

/// A ward may say beforehand on which days a meter will not be used; nothing else lies ahead of its entry.
Moment latestTimeOf(const Act& act, Moment now)
{
    const auto* incident = std::get_if<acts::IncidentReported>(&act);
    const bool ahead = incident != nullptr && incident->what == IncidentKind::NotInUse
        && (!incident->noticedAt || *incident->noticedAt <= now);
    return ahead ? base::plusMs(now, kDeclaredAheadDays * std::int64_t { 24 * 3'600'000 }) : now;
}

} // namespace

Done ActBatch::checkTime(const Act& act)
{
    const auto time = ownTimeOf(act);
    const Moment now = m_reader.zone().at(m_nowMs);
    if (m_keptSince && *m_keptSince > now)
        return badInput("it was kept since " + base::toText(*m_keptSince) + ", which lies in the future (it is " + base::toText(now)
            + "); check the clock of the workstation");
    const bool mayLieAhead = std::holds_alternative<acts::PolicyChanged>(act); // its effective date
    if (time && !mayLieAhead && *time > (m_imported ? now : latestTimeOf(act, m_keptSince.value_or(now))))
        return badInput("its time " + base::toText(*time) + " lies in the future (it is " + base::toText(now)
            + "); check the date, and this computer's clock");
    return {};
}

Done ActBatch::checkPersonsEntry(const Act& act)
{
    if (m_imported)
        return {};
    if (const Done words = withoutPatientNumbers(act); !words)
        return words;
    const auto* run = std::get_if<acts::ControlRun>(&act);
    const Moment now = m_reader.zone().at(m_nowMs);
    return run != nullptr ? mayEnterLate(*run, m_keptSince.value_or(now), m_reader.policyAt(now)) : Done();
}

/// A set of this batch with how its runs came in, as it will be read back.
SetRecord ActBatch::marked(SetRecord set, const std::vector<RunRecord>& known) const
{
    const Moment now = m_reader.zone().at(m_nowMs);
    for (auto& run : set.runs) {
        if (const auto earlier = std::ranges::find(known, run.seq, &RunRecord::seq); earlier != known.end()) {
            run.versionSeq = earlier->versionSeq;
            run.mark = earlier->mark;
            continue;
        }
        const auto kept = m_kept.find(run.seq);
        run.mark = markOf(run.run.at, now, m_author.person.empty() ? run.run.by.value : m_author.person.value, m_imported,
            m_reader.policyAt(now), kept == m_kept.end() ? std::nullopt : std::optional(kept->second));
    }
    return set;
}

template <>
Done ActBatch::check(const acts::LateEntryAccepted& a)
{
    const auto person = needPerson(a.by);
    if (!person)
        return person.error();
    if ((*person)->act.role != Role::Coordinator)
        return refused("only the coordinator accepts a control that was entered late without its paper");
    const auto runs = m_reader.runs(a.set);
    if (!runs)
        return runs.error();
    if (runs->empty())
        return Fault { FaultKind::NotFound, "no set is called '" + a.set.value + "'; see the meter's file for its name" };
    if (!std::ranges::any_of(*runs, [](const RunRecord& run) { return needsAcceptance(run); }))
        return refused("set '" + a.set.value + "' waits for no acceptance: it was recorded in time, or its paper form is named");
    const auto earlier = m_reader.facts<acts::LateEntryAccepted>(a.set.value);
    if (!earlier)
        return earlier.error();
    if (!earlier->empty())
        return Fault { FaultKind::Conflict,
            "set '" + a.set.value + "' was accepted already (entry " + std::to_string(earlier->front().seq.value) + ")" };
    return {};
}

} // namespace mk::store
