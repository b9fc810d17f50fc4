// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/registrar/registrar.h"

#include "registry/acts/text_bounds.h"
#include "registry/control/failure_ladder.h"
#include "store/journal/act_codec.h"
#include "store/journal/act_keys.h"
#include "store/index/index.h"
#include "store/registrar/registrar_batch.h"
#include "store/registrar/rights.h"

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

/// Does an act say what the stored one says? The time, a set named after it, and what the program fills in may be those of the second
/// sending.
bool sameDelivery(const Act& stored, const Act& sent)
{
    const auto said = [](const Act& act) {
        Json body = Json::object();
        const Json whole = bodyOf(act, false);
        for (const auto& [key, value] : *whole.members())
            if (key != "at" && key != "opened" && key != "set" && key != "cut_off" && key != "head" && key != "figures"
                && key != "counted_by" && key != "meaning" && key != "late_reason" && key != "typed_at" && key != "waits")
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

BatchGround Registrar::ground()
{
    return { m_session, m_working->reader, m_working->meters, m_working->head };
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
        if (auto judged = batch.judgedSet(id)) {
            outcomes[i].set = std::move(judged);
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
        "Refused: to " + std::string(word(*movement->toState)) + ". " + base::plainly(fault) };
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
    ActBatch batch(ground(), actingAs(author), ActBatch::Kind::Recorded, now, m_ids);
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
                    return base::fault(base::FaultKind::Conflict,
                        "entry %1 has the id '%2' and is another act (%3 %4); send this one with an id of its own", (*known)->value,
                        newAct.id, base::asCode(kindOf(*stored)), subjectOf(*stored));
                outcomes.push_back({ **known, true, {}, {}, {} });
                continue;
            }
        }
        auto outcome = batch.add(newAct.act, newAct.id, newAct.keptSince);
        if (!outcome && newAct.mayBeLeftOut && isOneTooMany(outcome.error())) {
            Outcome left;
            left.leftOut = outcome.error();
            outcomes.push_back(std::move(left));
            continue;
        }
        if (!outcome)
            return outcome.error();
        outcomes.push_back(std::move(outcome).value());
    }
    if (!outcomes.empty() && std::ranges::all_of(outcomes, [](const Outcome& each) { return each.leftOut.has_value(); }))
        return *outcomes.front().leftOut;
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
    ActBatch batch(ground(), author, ActBatch::Kind::Recorded, now, m_ids);
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

} // namespace mk::store
