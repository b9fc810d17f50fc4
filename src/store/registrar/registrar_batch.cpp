// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/registrar/registrar_batch.h"

#include "registry/acts/text_bounds.h"
#include "registry/control/late_entry.h"
#include "registry/desk/mending.h"
#include "store/index/index.h"
#include "store/journal/act_codec.h"
#include "store/read/signed_months.h"

namespace mk::store {

using base::Done;
using base::Result;
using base::Seq;
using namespace registry;

namespace {

constexpr std::int64_t kClockBackMs = 2 * 60'000; // handbook 10.3
constexpr std::int64_t kClockForwardMs = 10 * 60'000;

} // namespace

ActBatch::ActBatch(const BatchGround& ground, const Author& author, Kind kind, std::int64_t nowMs, const Ids& ids)
    : m_session(ground.session),
      m_reader(ground.reader),
      m_head(ground.head),
      m_author(author),
      m_nowMs(nowMs),
      m_ids(ids),
      m_occasion { kind == Kind::Imported, m_reader.zone().at(nowMs), author.person },
      m_judging(m_reader, *this, m_occasion, ground.meters)
{
}

Done ActBatch::noticeClock(std::int64_t leapMs)
{
    const std::int64_t behind = m_head.at - m_nowMs;
    const bool back = behind > kClockBackMs || -leapMs > kClockBackMs;
    if (!back && leapMs <= kClockForwardMs)
        return {};
    const std::int64_t by = back ? std::max(behind, -leapMs) : leapMs;
    const auto noticed = enter(
        acts::ClockNoticed { back ? "back" : "forward", by / 1000, m_reader.zone().at(m_head.at), m_occasion.now }, "registry");
    return noticed ? Done() : Done(noticed.error());
}

Result<Entry> ActBatch::entryOf(const Act& act, const std::string& person, const Sent& sent)
{
    // What stands around the act is stored as it is, too.
    for (const auto& [field, text] : { std::pair<std::string_view, std::string_view>("operator", person),
             { "workstation's name", m_author.station }, { "entry's id", sent.id } })
        if (const Done sensible = sensibleText(TextKind::Id, text, field); !sensible)
            return sensible.error();
    Json body = bodyOf(act, m_occasion.imported);
    if (sent.keptSince)
        markKept(body, *sent.keptSince);
    Entry entry { { m_head.seq.value + 1 }, sent.id.empty() ? m_ids() : sent.id, m_nowMs, base::offsetText(m_occasion.now.offsetMinutes),
        m_author.station, person, std::string(kindOf(act)), subjectOf(act), body.canonical(), m_head.digest, {} };
    auto digest = m_digester.digestOf(entry);
    if (!digest)
        return digest.error();
    entry.digest = std::move(digest).value();
    return entry;
}

/// Forgets what was kept of that which an act changed.
Done ActBatch::noteChange(const Act& act, const std::string& subject)
{
    if (std::holds_alternative<acts::ControlRun>(act) || std::holds_alternative<acts::SetJudged>(act))
        return {};
    m_reader.forget(subject);
    std::optional<Act> confirmed; // what waited is changed by its confirmation
    if (const auto* confirmation = std::get_if<acts::CorrectionConfirmed>(&act)) {
        auto mending = actOfEntry(m_session, confirmation->entry);
        if (!mending)
            return mending.error();
        confirmed = std::move(mending).value();
    }
    if (const auto* annulment = std::get_if<acts::EntryAnnulled>(confirmed ? &*confirmed : &act)) {
        const auto target = desk::takenBackBy(m_reader, *annulment);
        if (!target)
            return target.error();
        m_reader.forget(subjectOf(target->act));
    }
    return std::holds_alternative<acts::PolicyChanged>(act) ? m_reader.readPoliciesAgain() : Done();
}

Result<Entry> ActBatch::append(const Act& act, const std::string& person, const Sent& sent)
{
    if (m_head.moved)
        return movedAway(m_session, m_head);
    auto entry = entryOf(act, person, sent);
    if (!entry)
        return entry;
    if (const Done appended = appendEntry(m_session, *entry); !appended)
        return appended.error();
    if (const Done applied = applyToIndex(m_session, entry->seq, m_nowMs, m_occasion.imported, act); !applied)
        return applied.error();
    m_head = { entry->seq, entry->digest, m_nowMs, std::holds_alternative<acts::RegistryMoved>(act) };
    if (sent.keptSince)
        m_kept.emplace(entry->seq, *sent.keptSince);
    if (const Done noted = noteChange(act, entry->subject); !noted)
        return noted.error();
    return entry;
}

Result<Seq> ActBatch::enter(const Act& act, const std::string& person)
{
    auto entry = append(act, person, {});
    if (!entry)
        return entry.error();
    const Seq seq = entry->seq;
    if (!m_occasion.imported)
        m_consequences.push_back(std::move(entry).value());
    return seq;
}

Result<Seq> ActBatch::appendOwn(const Act& act)
{
    const auto entry = append(act, m_author.person.empty() ? "registry" : m_author.person.value, {});
    return entry ? Result<Seq>(entry->seq) : entry.error();
}

Result<Outcome> ActBatch::add(const Act& given, const std::string& id, std::optional<base::Moment> keptSince)
{
    if (const Done texts = sensibleTexts(given); !texts)
        return texts.error();
    desk::Desk desk { m_reader, *this, m_judging, m_occasion };
    desk.occasion.keptSince = keptSince;
    auto admitted = desk::admit(desk, given);
    if (!admitted)
        return admitted.error();
    m_askedBeyondRuns = m_askedBeyondRuns || admitted->askedBeyondRuns;
    Outcome outcome;
    outcome.told = admitted->told;
    std::optional<Act> filled;
    if (const auto* review = std::get_if<acts::ReviewSigned>(&given)) {
        auto whole = filledIn(m_reader, *review);
        if (!whole)
            return whole.error();
        filled.emplace(std::move(whole).value());
    } else {
        auto entered = desk::asEntered(desk, given);
        if (!entered)
            return entered.error();
        filled = std::move(entered).value();
    }
    const Act& act = filled ? *filled : given;
    desk.person = m_occasion.nameFor(act);
    const auto entry = append(act, desk.person, { id, keptSince });
    if (!entry)
        return entry.error();
    if (const Done followed = desk::follow(desk, entry->seq, act, std::move(admitted).value()); !followed)
        return followed.error();
    outcome.seq = entry->seq;
    return outcome;
}

std::optional<SetRecord> ActBatch::judgedSet(const base::SetId& id) const
{
    const auto* fresh = m_judging.freshlyJudged(id);
    if (fresh == nullptr)
        return std::nullopt;
    SetRecord set = fresh->set;
    for (auto& run : set.runs) {
        if (const auto earlier = std::ranges::find(fresh->known, run.seq, &RunRecord::seq); earlier != fresh->known.end()) {
            run.versionSeq = earlier->versionSeq;
            run.mark = earlier->mark;
            continue;
        }
        const auto kept = m_kept.find(run.seq);
        run.mark = markOf(run.run.at, m_occasion.now, m_author.person.empty() ? run.run.by.value : m_author.person.value,
            m_occasion.imported, m_reader.policyAt(m_occasion.now), kept == m_kept.end() ? std::nullopt : std::optional(kept->second));
    }
    return set;
}

} // namespace mk::store
