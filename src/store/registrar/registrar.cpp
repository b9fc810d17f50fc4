// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/registrar/registrar.h"

#include "registry/acts/text_bounds.h"
#include "store/journal/act_codec.h"
#include "store/journal/act_keys.h"
#include "store/index/index.h"
#include "store/registrar/registrar_batch.h"
#include "store/registrar/rights.h"
#include "store/registrar/signed_months.h"

#include <QDateTime>
#include <QUuid>

#include <algorithm>
#include <chrono>
#include <map>

namespace mk::store {

using base::Done;
using base::Result;
using base::Seq;
using namespace registry;

namespace {

constexpr std::int64_t kClockBackMs = 2 * 60'000; // handbook 10.3
constexpr std::int64_t kClockForwardMs = 10 * 60'000;

/// Does an act say what the stored one says? The time, a set named after it, and what the program fills in may be those of the second
/// sending.
bool sameDelivery(const Act& stored, const Act& sent)
{
    const auto said = [](const Act& act) {
        Json body = Json::object();
        const Json whole = bodyOf(act, false);
        for (const auto& [key, value] : *whole.members())
            if (key != "at" && key != "opened" && key != "set" && key != "cut_off" && key != "head" && key != "figures" && key != "meaning"
                && key != "late_reason")
                body.set(key, value);
        return body.canonical();
    };
    return kindOf(stored) == kindOf(sent) && said(stored) == said(sent);
}

} // namespace

std::int64_t machineClock()
{
    return QDateTime::currentMSecsSinceEpoch();
}

std::int64_t steadyClock()
{
    return std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

std::string newUuid()
{
    // Version 7 (RFC 9562): the time in front, so that new ids lie side by side in the index of the journal.
    QUuid random = QUuid::createUuid();
    const auto ms = static_cast<std::uint64_t>(machineClock());
    random.data1 = static_cast<uint>(ms >> 16);
    random.data2 = static_cast<ushort>(ms & 0xffff);
    random.data3 = static_cast<ushort>(0x7000 | (random.data3 & 0x0fff));
    return random.toString(QUuid::WithoutBraces).toStdString();
}

bool ImportReport::anyRejected() const
{
    return std::ranges::any_of(files, [](const FileReport& file) { return !file.rejected.empty(); });
}

Result<Seq> found(Session& session, const std::string& zoneName, std::span<const std::pair<std::string, std::string>> settings,
    const Author& author, const Clock& clock, const Founding& founding)
{
    const auto zone = Zone::named(zoneName);
    if (!zone)
        return zone.error();
    const auto policy = founding.documentAsGiven ? policyOnRecord(settings) : policyFrom(settings);
    if (!policy)
        return policy.error();
    acts::PolicyChanged first;
    first.settings = founding.documentAsGiven ? PolicyPairs(settings.begin(), settings.end()) : completePolicy(settings);

    Transaction transaction(session);
    if (const Done begun = transaction.begin(); !begun)
        return begun.error();
    Head head { {}, noDigest(), 0 };
    Digester digester;
    const std::int64_t now = clock();
    const std::string person = author.person.empty() ? "registry" : author.person.value;
    for (const Done& sensible : { sensibleTexts(Act(first)), sensibleText(TextKind::Id, person, "operator"),
             sensibleText(TextKind::Id, author.station, "workstation's name") })
        if (!sensible)
            return sensible.error();
    for (const Act& act : { Act(acts::RegistryFounded { founding.ids(), zoneName, founding.program }), Act(first) }) {
        Entry entry { { head.seq.value + 1 }, founding.ids(), now, base::offsetText(zone->at(now).offsetMinutes), author.station, person,
            std::string(kindOf(act)), subjectOf(act), bodyOf(act, false).canonical(), head.digest, {} };
        auto digest = digester.digestOf(entry);
        if (!digest)
            return digest.error();
        entry.digest = *digest;
        if (const Done appended = appendEntry(session, entry); !appended)
            return appended.error();
        if (const Done applied = applyToIndex(session, entry.seq, now, false, act); !applied)
            return applied.error();
        head = { entry.seq, entry.digest, now };
    }
    if (const Done committed = transaction.commit(); !committed)
        return committed.error();
    return head.seq;
}

Registrar::Registrar(Session& session, Clock clock, Clock steady, Ids ids)
    : m_session(session),
      m_clock(std::move(clock)),
      m_steady(std::move(steady)),
      m_ids(std::move(ids))
{
}
Registrar::~Registrar() = default;

Result<std::unique_ptr<Registrar>> Registrar::open(Session& session, Clock clock, Clock steady, Ids ids)
{
    std::unique_ptr<Registrar> registrar(new Registrar(session, std::move(clock), std::move(steady), std::move(ids)));
    if (const Done ready = registrar->refresh(); !ready)
        return ready.error();
    return registrar;
}

std::int64_t Registrar::leapSinceLast(std::int64_t now)
{
    const std::int64_t steady = m_steady();
    m_nextClocks = { now, steady };
    return m_lastClocks ? (now - m_lastClocks->first) - (steady - m_lastClocks->second) : 0;
}

void Registrar::dropCaches()
{
    m_working.reset();
}

/// Gives each control run's outcome its set; a set of several runs is read once.
Done Registrar::readSets(std::span<const NewAct> newActs, const ActBatch& batch, std::vector<Outcome>& outcomes)
{
    std::map<base::SetId, std::optional<SetRecord>> sets;
    for (std::size_t i = 0; i < outcomes.size(); ++i) {
        const auto* run = std::get_if<acts::ControlRun>(&newActs[i].act);
        if (run == nullptr)
            continue;
        base::SetId id = run->set;
        if (outcomes[i].repeated) { // as stored: a repeated delivery may name another set
            const auto stored = actOfEntry(m_session, outcomes[i].seq);
            if (!stored)
                return stored.error();
            id = std::get<acts::ControlRun>(*stored).set;
        }
        if (const SetRecord* judged = batch.judgedSet(id)) {
            outcomes[i].set = *judged;
            continue;
        }
        auto known = sets.find(id);
        if (known == sets.end()) {
            auto set = m_working->reader.set(id);
            if (!set)
                return set.error();
            known = sets.emplace(id, std::move(set).value()).first;
        }
        outcomes[i].set = known->second;
    }
    return {};
}

Result<std::vector<Outcome>> Registrar::record(std::span<const NewAct> newActs, const Author& author)
{
    auto recorded = m_session.isServer() ? recordOnServer(newActs, author) : recordAll(newActs, author);
    if (!recorded)
        noteRefusal(newActs, author, recorded.error());
    return recorded;
}

/// A refused try to move a meter stands in the log as a note: nothing follows from it (handbook, story S44).
void Registrar::noteRefusal(std::span<const NewAct> newActs, const Author& author, const base::Fault& fault)
{
    const auto* movement = newActs.size() == 1 && fault.kind == base::FaultKind::Refused
        ? std::get_if<acts::MeterMoved>(&newActs.front().act)
        : nullptr;
    if (movement == nullptr || !movement->toState || (!m_working && !refresh()))
        return;
    acts::NoteAdded note { m_working->reader.zone().at(m_clock()), movement->by, movement->meter,
        "Refused: to " + std::string(word(*movement->toState)) + ". " + fault.text };
    const NewAct logged { Act(std::move(note)), {} };
    static_cast<void>(recordAll({ &logged, 1 }, author)); // the refusal is told either way
}

Result<std::vector<Outcome>> Registrar::recordAll(std::span<const NewAct> newActs, const Author& author)
{
    if (m_session.isServer())
        rehearse(newActs, author);
    Transaction transaction(m_session);
    if (const Done begun = transaction.begin(); !begun)
        return begun.error();
    if (const Done fresh = refresh(); !fresh)
        return fresh.error();
    // The caches follow the transaction: undone with it.
    const auto fail = [&](const base::Fault& fault) {
        dropCaches();
        return fault;
    };

    const std::int64_t now = m_clock();
    ActBatch batch(m_session, m_working->reader, m_working->meters, m_working->head, actingAs(author), false, now, m_ids);
    if (const Done noticed = batch.noticeClock(leapSinceLast(now)); !noticed)
        return fail(noticed.error());
    auto outcomes = recordInto(batch, newActs, author);
    if (!outcomes)
        return fail(outcomes.error());
    m_commitSent = true;
    if (const Done committed = transaction.commit(); !committed)
        return fail(committed.error());
    m_lastClocks = m_nextClocks; // a leap that nothing was recorded after is still to be noticed
    return outcomes;
}

Result<std::vector<Outcome>> Registrar::recordInto(ActBatch& batch, std::span<const NewAct> newActs, const Author& author)
{
    if (const Done may = mayRecordAs(m_working->reader, author, newActs, batch.nowMs()); !may)
        return may.error();
    std::vector<Outcome> outcomes;
    for (const auto& newAct : newActs) {
        if (!newAct.id.empty()) {
            const auto known = entryWithId(m_session, newAct.id);
            if (!known)
                return known.error();
            if (*known) {
                const auto stored = actOfEntry(m_session, **known);
                if (!stored)
                    return stored.error();
                if (!sameDelivery(*stored, newAct.act))
                    return base::Fault { base::FaultKind::Conflict,
                        "entry " + std::to_string((*known)->value) + " has the id '" + newAct.id + "' and is another act ("
                            + std::string(kindOf(*stored)) + " " + subjectOf(*stored) + "); send this one with an id of its own" };
                outcomes.push_back({ **known, true, {}, {}, {} });
                continue;
            }
        }
        auto outcome = batch.add(newAct.act, newAct.id, newAct.keptSince);
        if (!outcome)
            return outcome.error();
        outcomes.push_back(std::move(outcome).value());
    }
    if (const Done settled = batch.settle(); !settled)
        return settled.error();
    if (const Done read = readSets(newActs, batch, outcomes); !read)
        return read.error();
    if (!outcomes.empty())
        outcomes.back().consequences = batch.consequences();
    return outcomes;
}

Result<Seq> Registrar::recordOwn(const Act& act, const Author& author)
{
    const auto seqs = recordOwnDecided([&](Reader&, base::Moment) { return std::vector<Act> { act }; }, author);
    return seqs ? Result<Seq>(seqs->front()) : Result<Seq>(seqs.error());
}

Result<std::vector<Seq>> Registrar::recordOwnDecided(
    const std::function<Result<std::vector<Act>>(Reader&, base::Moment)>& decide, const Author& author)
{
    Transaction transaction(m_session);
    if (const Done begun = transaction.begin(); !begun)
        return begun.error();
    if (const Done fresh = refresh(); !fresh)
        return fresh.error();
    const std::int64_t now = m_clock();
    const auto fail = [&](const base::Fault& fault) {
        dropCaches();
        return fault;
    };
    const auto acts = decide(m_working->reader, m_working->reader.zone().at(now));
    if (!acts)
        return fail(acts.error());
    std::vector<Seq> seqs;
    ActBatch batch(m_session, m_working->reader, m_working->meters, m_working->head, author, false, now, m_ids);
    if (!acts->empty())
        if (const Done noticed = batch.noticeClock(leapSinceLast(now)); !noticed)
            return fail(noticed.error());
    for (const auto& act : *acts) {
        if (const Done own = isOwn(act); !own) // what people record goes through record(), with its checks
            return fail(own.error());
        const auto appended = batch.appendOwn(act);
        if (!appended)
            return fail(appended.error());
        seqs.push_back(*appended);
    }
    if (const Done committed = transaction.commit(); !committed)
        return fail(committed.error());
    if (!acts->empty())
        m_lastClocks = m_nextClocks;
    return seqs;
}

ActBatch::ActBatch(Session& session, Reader& reader, std::map<base::MeterId, MeterWork>& meters, Head& head, const Author& author,
    bool imported, std::int64_t nowMs, const Ids& ids)
    : m_session(session),
      m_reader(reader),
      m_meters(meters),
      m_head(head),
      m_author(author),
      m_imported(imported),
      m_nowMs(nowMs),
      m_ids(ids)
{
}

Done ActBatch::noticeClock(std::int64_t leapMs)
{
    const std::int64_t behind = m_head.at - m_nowMs;
    const bool back = behind > kClockBackMs || -leapMs > kClockBackMs;
    if (!back && leapMs <= kClockForwardMs)
        return {};
    m_person = "registry";
    const std::int64_t by = back ? std::max(behind, -leapMs) : leapMs;
    return appendConsequence(
        acts::ClockNoticed { back ? "back" : "forward", by / 1000, m_reader.zone().at(m_head.at), m_reader.zone().at(m_nowMs) });
}

Result<Seq> ActBatch::append(const Act& act, const std::string& id, const std::string& person, bool imported)
{
    if (m_head.moved)
        return movedAway(m_session, m_head);
    // What stands around the act is stored as it is, too.
    for (const auto& [field, text] : { std::pair<std::string_view, std::string_view>("operator", person),
             { "workstation's name", m_author.station }, { "entry's id", id } })
        if (const Done sensible = sensibleText(TextKind::Id, text, field); !sensible)
            return sensible.error();
    Json body = bodyOf(act, imported);
    const bool kept = m_keptSince && !m_following;
    if (kept)
        markKept(body, *m_keptSince);
    Entry entry { { m_head.seq.value + 1 }, id.empty() ? m_ids() : id, m_nowMs, base::offsetText(m_reader.zone().at(m_nowMs).offsetMinutes),
        m_author.station, person, std::string(kindOf(act)), subjectOf(act), body.canonical(), m_head.digest, {} };
    auto digest = m_digester.digestOf(entry);
    if (!digest)
        return digest.error();
    entry.digest = std::move(digest).value();
    if (const Done appended = appendEntry(m_session, entry); !appended)
        return appended.error();
    if (const Done applied = applyToIndex(m_session, entry.seq, m_nowMs, imported, act); !applied)
        return applied.error();
    m_head = { entry.seq, entry.digest, m_nowMs, std::holds_alternative<acts::RegistryMoved>(act) };
    if (kept)
        m_kept.emplace(entry.seq, *m_keptSince);
    if (!std::holds_alternative<acts::ControlRun>(act) && !std::holds_alternative<acts::SetJudged>(act)) {
        m_reader.forget(entry.subject);
        if (const auto meter = m_meters.find(base::MeterId(entry.subject)); meter != m_meters.end())
            meter->second.statesKnown = false;
    }
    const Seq seq = entry.seq;
    if (m_following && !m_imported)
        m_consequences.push_back(std::move(entry));
    return seq;
}

Done ActBatch::appendConsequence(const Act& act)
{
    m_following = true;
    const auto seq = append(act, {}, m_person, m_imported);
    m_following = false;
    return seq ? Done() : Done(seq.error());
}

Result<Seq> ActBatch::appendOwn(const Act& act)
{
    return append(act, {}, m_author.person.empty() ? "registry" : m_author.person.value, false);
}

Result<Outcome> ActBatch::add(const Act& given, const std::string& id, std::optional<base::Moment> keptSince)
{
    m_keptSince = keptSince;
    if (const Done texts = sensibleTexts(given); !texts)
        return texts.error();
    if (const Done admitted = admit(given); !admitted)
        return admitted.error();
    std::optional<Act> filled;
    if (const auto* review = std::get_if<acts::ReviewSigned>(&given)) {
        auto whole = filledIn(m_reader, *review);
        if (!whole)
            return whole.error();
        filled.emplace(std::move(whole).value());
    }
    const Act& act = filled ? *filled : given;
    std::vector<std::string> told;
    const auto* run = std::get_if<acts::ControlRun>(&act);
    m_runsOnly = m_runsOnly && run != nullptr;
    if (run != nullptr && !m_imported) {
        auto others = othersOn(*run);
        if (!others)
            return others.error();
        told = std::move(others).value();
    }
    const auto person = personOf(act);
    m_person = !m_author.person.empty() ? m_author.person.value : m_imported ? "import" : person ? person->value : "registry";

    // What an annulment takes back must be known before the index forgets it.
    std::string annulledKind;
    Json annulledBody;
    if (const auto* annulment = std::get_if<acts::EntryAnnulled>(&act)) {
        const auto target = entryOfKey(m_session, annulment->file_, annulment->key);
        const auto entry = target && *target ? entryAt(m_session, **target) : Result<std::optional<Entry>>(std::optional<Entry>());
        auto body = entry && *entry ? Json::parse((*entry)->body) : Result<Json>(base::badInput("no entry"));
        if (!body)
            return body.error();
        annulledKind = (*entry)->act;
        annulledBody = std::move(body).value();
    }
    const auto seq = append(act, id, m_person, m_imported);
    if (!seq)
        return seq.error();
    const auto* annulment = std::get_if<acts::EntryAnnulled>(&act);
    const Done followed = annulment != nullptr ? followAnnulment(*seq, *annulment, annulledKind, annulledBody) : follow(*seq, act);
    if (!followed)
        return followed.error();
    std::optional<Act> annulled;
    if (annulment != nullptr)
        if (auto taken = actFrom(annulledKind, annulledBody))
            annulled = std::move(taken).value();
    if (const Done overtaken = overtakeReviews(*seq, act, annulled); !overtaken)
        return overtaken.error();
    return Outcome { *seq, false, {}, {}, std::move(told) };
}

} // namespace mk::store
