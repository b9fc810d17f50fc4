// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/value_history.h"

#include "store/index/rows/control_rows.h"
#include "store/index/rows/index_rows.h"
#include "store/journal/act_codec.h"
#include "store/journal/journal.h"
#include "store/journal/entry_act.h"
#include "store/db/rows.h"

#include <algorithm>
#include <set>

namespace mk::store {

using namespace registry;
using base::Done;
using base::FaultKind;
using base::Result;
using base::Seq;

namespace {

HistoryStep stepOf(const Reader& reader, const Entry& entry, const Act& act)
{
    HistoryStep step { entry.seq, reader.zone().at(entry.at), entry.act, entry.person, act, {}, {}, {}, {}, {}, {} };
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&act)) {
        step.column = correction->column, step.before = correction->oldText, step.after = correction->newText,
        step.reason = correction->reason;
        if (correction->confirmedBy)
            step.confirmedBy = correction->confirmedBy->value;
    } else if (const auto* confirmed = std::get_if<acts::CorrectionConfirmed>(&act)) {
        step.confirmedBy = confirmed->by.value;
    } else if (const auto* annulled = std::get_if<acts::EntryAnnulled>(&act)) {
        step.reason = annulled->reason;
    }
    if (const auto kept = keptSince(entry.body))
        step.keptSince = reader.zone().at(kept->utcMs);
    return step;
}

/// Adds the entries that a query names as `seq`.
Done takeSeqs(Session& session, const Sql& sql, const Values& values, std::set<Seq>& seqs)
{
    return eachRow(session, sql, values, [&](const Statement& row) {
        seqs.insert({ row.number("seq") });
        return Done();
    });
}

Done takeSet(Session& session, const std::string& set, std::set<Seq>& seqs)
{
    static const Sql runs({ ControlRunRow::table }, "SELECT DISTINCT run_seq AS seq FROM control_run WHERE set_id = :set_id");
    static const Sql corrections({ CorrectionRow::table }, "SELECT from_seq AS seq FROM correction WHERE set_id = :set_id");
    static const Sql verdicts({ SetVerdictRow::table }, "SELECT from_seq AS seq FROM set_verdict WHERE set_id = :set_id");
    static const Sql acceptedLate({ Entry::table }, "SELECT seq FROM journal WHERE act = 'late_entry.accepted' AND subject = :set_id");
    for (const Sql* sql : { &runs, &corrections, &verdicts, &acceptedLate })
        if (const Done taken = takeSeqs(session, *sql, { { "set_id", bound(set) } }, seqs); !taken)
            return taken;
    return {};
}

/// What names these entries: confirmations, decisions, annulments.
Done takeFollowers(Session& session, std::set<Seq>& seqs)
{
    static const Sql aboutEntry(
        { Entry::table }, "SELECT seq FROM journal WHERE act NOT IN ('control.run', 'control.judged') AND subject = :subject");
    static const Sql annulments({ AnnulledRow::table }, "SELECT by_seq AS seq FROM annulled WHERE seq = :entry");
    const std::set<Seq> named = seqs;
    for (const Seq seq : named) {
        const std::string subject = "entry " + std::to_string(seq.value);
        if (const Done taken = takeSeqs(session, aboutEntry, { { "subject", bound(subject) } }, seqs); !taken)
            return taken;
        std::set<Seq> takenBack;
        if (const Done taken = takeSeqs(session, annulments, { { "entry", bound(seq.value) } }, takenBack); !taken)
            return taken;
        for (const Seq by : takenBack) {
            const auto act = actOfEntry(session, by);
            if (!act)
                return act.error();
            seqs.insert(by);
            if (const auto* confirmed = std::get_if<acts::CorrectionConfirmed>(&*act))
                seqs.insert(confirmed->entry);
        }
    }
    return {};
}

std::optional<std::string> setOf(const Act& act)
{
    if (const auto* run = std::get_if<acts::ControlRun>(&act))
        return run->set.value;
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&act))
        return correction->set.value;
    if (const auto* judged = std::get_if<acts::SetJudged>(&act))
        return judged->set.value;
    return std::nullopt;
}

} // namespace

Result<std::vector<HistoryStep>> valueHistory(Reader& reader, const std::string& key)
{
    Session& session = reader.session();
    std::set<Seq> seqs;
    if (const Done taken = takeSet(session, key, seqs); !taken)
        return taken.error();
    if (seqs.empty()) {
        const auto seq = TextForm<Seq>::read(key, {});
        const auto entry = seq ? entryAt(session, *seq) : Result<std::optional<Entry>>(std::optional<Entry>());
        if (!entry)
            return entry.error();
        if (!*entry || (*entry)->seq > reader.asOf())
            return base::fault(
                FaultKind::NotFound, "no set and no entry is called '%1'; see the meter's file for the names of its sets", key);
        seqs.insert((*entry)->seq);
        const auto act = actOfEntry(session, (*entry)->seq);
        if (!act)
            return act.error();
        if (const auto set = setOf(*act))
            if (const Done taken = takeSet(session, *set, seqs); !taken)
                return taken.error();
    }
    if (const Done taken = takeFollowers(session, seqs); !taken)
        return taken.error();
    std::vector<HistoryStep> steps;
    for (const Seq seq : seqs) {
        if (seq > reader.asOf())
            continue;
        const auto entry = entryAt(session, seq);
        const auto act = actOfEntry(session, seq);
        if (!entry || !act)
            return entry ? act.error() : entry.error();
        if (*entry)
            steps.push_back(stepOf(reader, **entry, *act));
    }
    return steps;
}

} // namespace mk::store
