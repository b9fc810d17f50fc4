// SPDX-License-Identifier: GPL-3.0-or-later
// Recording among others: what they wrote meanwhile, what is judged before the lock is taken, and answers that are lost.
#include "store/registrar/registrar_batch.h"
#include "store/db/rows.h"
#include "store/registrar/rights.h"

namespace mk::store {

using base::Done;
using base::Result;
using namespace registry;

namespace {

constexpr int kTries = 4; ///< of one delivery to a server
constexpr std::int64_t kShortMs = 2'000;
constexpr std::int64_t kMostFollowed = 1'000; ///< entries that are looked at one by one

} // namespace

/// Brings the caches up to the newest entry where others wrote only control runs and their verdicts: those concern one meter, and nothing
/// that is kept of others. Forgets what was rehearsed where they touch it. returns  false where everything must be read anew
Result<bool> Registrar::followOthers()
{
    if (!m_working)
        return false;
    Working& mine = *m_working;
    Head head;
    bool known = false; // is the entry that the caches stand on still the one of that number?
    bool follows = true;
    bool touches = false;
    static const Sql sql(
        { Entry::table }, "SELECT seq, digest, at, act, body, id FROM journal WHERE seq >= :first ORDER BY seq LIMIT :most");
    const Done read = eachRow(
        m_session, sql, { { "first", bound(mine.head.seq.value) }, { "most", bound(kMostFollowed) } }, [&](const Statement& row) -> Done {
            const std::string act = row.text("act");
            head = { { row.number("seq") }, row.text("digest"), row.number("at"), act == acts::RegistryMoved::kind };
            if (head.seq == mine.head.seq) {
                known = head.digest == mine.head.digest;
                return {};
            }
            follows = follows && (act == acts::ControlRun::kind || act == acts::SetJudged::kind);
            if (!follows)
                return {};
            const auto body = Json::parse(row.text("body"));
            const auto textAt = [&](const char* name) {
                const Json* member = body ? body->find(name) : nullptr;
                return member != nullptr && member->text() != nullptr ? *member->text() : std::string();
            };
            const base::MeterId meter(textAt("meter"));
            mine.meters.meters.erase(meter);
            mine.meters.groups.forget(); // the others on its lots see it otherwise now
            touches = touches || mine.rehearsedMeters.contains(meter) || mine.rehearsedSets.contains(base::SetId(textAt("set")))
                || mine.rehearsedIds.contains(row.text("id"));
            return {};
        });
    if (!read)
        return read.error();
    if (!known || !follows || head.seq.value - mine.head.seq.value >= kMostFollowed - 1)
        return false;
    mine.head = head;
    if (touches)
        m_session.forgetRehearsal();
    return true;
}

/// Reads anew where another program wrote since.
Done Registrar::refresh()
{
    if (m_session.isServer()) {
        const auto followed = followOthers();
        if (!followed)
            return followed.error();
        if (*followed)
            return {};
    }
    m_session.forgetRehearsal();
    const auto head = headOf(m_session);
    if (!head)
        return head.error();
    if (m_working && m_working->head.seq == head->seq && m_working->head.digest == head->digest)
        return {};
    auto reader = Reader::open(m_session);
    if (!reader)
        return reader.error();
    m_working = std::make_unique<Working>(Working { std::move(reader).value(), *head, {}, {}, {}, {} });
    return {};
}

/// On a server, whoever holds the lock keeps all others waiting: control runs are judged before it is taken, and once more under it from
/// what was read for that. What else a batch may be reads of other meters, and is not rehearsed.
void Registrar::rehearse(std::span<const NewAct> newActs, const Author& author)
{
    if (!m_working && !refresh()) // whatever it is, it is found out under the lock
        return;
    Working& mine = *m_working;
    mine.rehearsedMeters.clear();
    mine.rehearsedSets.clear();
    mine.rehearsedIds.clear();
    for (const auto& each : newActs) {
        const auto* run = std::get_if<acts::ControlRun>(&each.act);
        if (run == nullptr)
            return;
        mine.rehearsedMeters.insert(run->meter);
        mine.rehearsedSets.insert(run->set);
        mine.rehearsedIds.insert(each.id);
    }
    registry::desk::MeterWorks before;
    for (const auto& meter : mine.rehearsedMeters)
        if (const auto known = mine.meters.meters.find(meter); known != mine.meters.meters.end())
            before.meters.emplace(*known);
    before.groups = mine.meters.groups;
    const Head head = mine.head;

    m_session.rehearse();
    ActBatch batch(ground(), actingAs(author), ActBatch::Kind::Recorded, m_clock(), m_ids);
    const auto outcomes = recordInto(batch, newActs, author);
    m_session.endRehearsal();

    mine.head = head;
    for (const auto& meter : mine.rehearsedMeters)
        mine.meters.meters.erase(meter);
    mine.meters.meters.merge(before.meters);
    mine.meters.groups = std::move(before.groups);
    if (!outcomes || batch.askedBeyondRuns())
        m_session.forgetRehearsal(); // whatever it is, it is found out under the lock
}

/// Over a network an answer can be lost. Every act has its id before it is sent for the first time, so that it may be sent again: what had
/// arrived is recognised, and nothing stands twice.
Result<std::vector<Outcome>> Registrar::recordOnServer(std::span<const NewAct> newActs, const Author& author)
{
    std::vector<NewAct> sent(newActs.begin(), newActs.end());
    for (auto& each : sent)
        if (each.id.empty())
            each.id = m_ids();
    bool inDoubt = false; // what was never committed has not arrived
    for (int tries = 1;; ++tries) {
        const std::int64_t begun = steadyClock();
        m_commitSent = false;
        auto recorded = recordAll(sent, author);
        inDoubt = inDoubt || m_commitSent;
        if (recorded || tries == kTries)
            return recorded;
        // Two that met are tried again; who waited in vain for the lock is told.
        if (recorded.error().kind == base::FaultKind::Busy && steadyClock() - begun < kShortMs)
            continue;
        if (!m_session.lost())
            return recorded;
        dropCaches();
        if (const Done back = m_session.reconnect(); !back)
            return inDoubt && back.error().kind == base::FaultKind::Unreachable
                ? base::fault(base::FaultKind::Unreachable,
                    "%1 cannot be reached any more. The line broke while this was being recorded, and it may have arrived: look at the meter before you enter it again, or go on with the paper form",
                    m_session.place())
                : back.error();
    }
}

} // namespace mk::store
