// SPDX-License-Identifier: GPL-3.0-or-later
// What the registry's thread does while the server is away, and when it is back.
#include "desktop/desk/desk_worker.h"
#include "store/journal/act_codec.h"
#include "store/db/listening.h"
#include "words/faults.h"

#include <QUuid>

#include <algorithm>

namespace mk::desktop {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;
using namespace registry;

namespace {

/// What may wait here: what is done on the ward, and judged when it arrives. Everything else is decided where the records are.
bool mayWait(const Act& act)
{
    return std::holds_alternative<acts::ControlRun>(act) || std::holds_alternative<acts::IncidentReported>(act);
}

/// The registry understood it and does not take it; it would not another time either.
bool isFinal(FaultKind kind)
{
    return kind == FaultKind::BadInput || kind == FaultKind::NotFound || kind == FaultKind::Conflict || kind == FaultKind::Refused;
}

DeliveredLine lineFrom(const store::KeptActs& kept, const std::string& refusal)
{
    DeliveredLine line { kept.meter, kept.since, {}, refusal };
    for (const auto& each : kept.acts)
        line.acts.push_back(each.act);
    return line;
}

VialLine knownVial(const BoardAnswer& board, const std::string& id)
{
    const auto known = std::ranges::find(board.vials, id, &VialLine::vial);
    return known == board.vials.end() ? VialLine { id, {}, {}, {}, {} } : *known;
}

/// The newest open vial of a kind that may be used, as the board knew it.
std::string usableVial(const BoardAnswer& board, std::optional<Level> level)
{
    const auto found = std::ranges::find_if(board.vials, [&](const VialLine& vial) { return vial.level == level && vial.against.empty(); });
    return found == board.vials.end() ? std::string() : found->vial;
}

} // namespace

Result<BoardAnswer> DeskWorker::board(const std::optional<base::WardId>& ward)
{
    if (m_lost)
        return *m_lost;
    auto answer = readBoard(ward);
    if (!answer)
        return notice(answer.error());
    if (m_options.onServer())
        m_lastBoard = *answer;
    return answer;
}

Result<SheetAnswer> DeskWorker::sheet(const SheetQuestion& question)
{
    if (!m_lost) {
        auto answer = readSheet(question);
        if (answer)
            return answer;
        notice(answer.error());
        if (!m_lost)
            return answer;
    }
    return sheetFromMemory(question);
}

Result<MeterAnswer> DeskWorker::meter(const base::MeterId& id)
{
    if (m_lost)
        return *m_lost;
    auto answer = readMeter(id);
    if (!answer)
        return notice(answer.error());
    return answer;
}

/// Everything that found the server gone passes here. A server that does not let us in is not asked again by itself either: that would ask
/// for its password again and again.
const Fault& DeskWorker::notice(const Fault& fault)
{
    if (fault.kind == FaultKind::Unreachable || (m_options.onServer() && m_session == nullptr))
        m_lost = fault;
    return fault;
}

/// An act whose answer never came is sent again under its first id: where it did arrive, the registry knows it.
std::vector<store::NewAct> DeskWorker::withIds(std::vector<store::NewAct> acts)
{
    for (auto& act : acts) {
        if (!act.id.empty())
            continue;
        std::string& id = m_tried[std::string(kindOf(act.act)) + store::bodyOf(act.act, false).canonical()];
        if (id.empty())
            id = QUuid::createUuid().toString(QUuid::WithoutBraces).toStdString();
        act.id = id;
    }
    return acts;
}

void DeskWorker::keepOrSay(RecordAnswer& answer, const std::vector<store::NewAct>& acts, const base::OperatorId& person)
{
    const bool may = m_policy && m_policy->recordOffline
        && std::ranges::all_of(acts, [](const store::NewAct& act) { return mayWait(act.act); });
    if (!may)
        return;
    Done kept = openQueue();
    const base::Moment since = m_reader ? m_reader->zone().at(m_options.clock() / 1000 * 1000)
        : m_lastBoard                   ? m_lastBoard->zone.at(m_options.clock() / 1000 * 1000)
                                        : base::Moment {};
    if (kept && since.utcMs == 0)
        kept = base::fault(FaultKind::Io, "the zone of the registry is not known here; nothing was kept. Use the paper form");
    if (kept)
        kept = m_queue->keep(acts, answer.meter, { person, m_options.station }, since);
    if (!kept) {
        answer.outcome = kept.error();
        return;
    }
    answer.kept = since;
    for (const auto& act : acts) // from now on the queue knows the ids
        m_tried.erase(std::string(kindOf(act.act)) + store::bodyOf(act.act, false).canonical());
    if (!m_lastBoard)
        return;
    answer.board = *m_lastBoard;
    const auto line = std::ranges::find(
        answer.board.lines, answer.meter, [](const BoardLine& each) { return each.row.history.meter.act.meter; });
    if (line != answer.board.lines.end())
        answer.line = *line;
}

/// A sheet without anything to judge by: what the board knew last, and the vials' labels.
Result<SheetAnswer> DeskWorker::sheetFromMemory(const SheetQuestion& question) const
{
    if (!m_policy || !m_policy->recordOffline || !m_lastBoard)
        return *m_lost;
    const auto line = std::ranges::find(
        m_lastBoard->lines, question.meter, [](const BoardLine& each) { return each.row.history.meter.act.meter; });
    if (line == m_lastBoard->lines.end())
        return *m_lost;
    SheetAnswer answer;
    answer.unjudged = true;
    answer.zone = m_lastBoard->zone;
    answer.at = answer.zone.at(m_options.clock());
    answer.meter = *line;
    answer.clearanceHours = m_policy->clearanceHours;
    if (const auto& accepted = line->row.history.newestAccepted)
        answer.due = clearedUntil(*accepted, *m_policy, answer.zone);
    if (const auto& newest = line->row.history.newestSet)
        answer.before.push_back(*newest);
    answer.stripVialId = question.stripVial ? question.stripVial->value : usableVial(*m_lastBoard, std::nullopt);
    answer.stripLine = knownVial(*m_lastBoard, answer.stripVialId);
    for (const Level level : m_policy->requiredLevels) {
        SheetLevel each { level, usableVial(*m_lastBoard, level) };
        for (const auto& [asked, vial] : question.controlVials)
            if (asked == level)
                each.vialId = vial.value;
        each.line = knownVial(*m_lastBoard, each.vialId);
        answer.levels.push_back(std::move(each));
    }
    return answer;
}

Done DeskWorker::openQueue()
{
    if (m_queue != nullptr)
        return {};
    if (m_options.queueFolder.empty() || !m_options.queueKeys)
        return base::fault(FaultKind::Io, "this program was started without a place to keep anything; use the paper form");
    const auto keys = m_options.queueKeys();
    if (!keys)
        return keys.error();
    Done last;
    for (const auto& key : *keys) { // one of an earlier time may have locked it
        auto queue = store::Outbox::open(m_options.queueFolder, m_options.path, key);
        if (queue) {
            m_queue = std::move(queue).value();
            return {};
        }
        last = queue.error();
        if (queue.error().kind != FaultKind::Denied)
            break;
    }
    return last;
}

ContactAnswer DeskWorker::contact()
{
    ContactAnswer answer;
    m_reader.reset();
    m_registrar.reset();
    QObject::disconnect(m_listening);
    const Done reached = m_session == nullptr ? open() : m_session->reconnect();
    if (!reached) {
        m_lost = reached.error();
        answer.fault = m_lost;
        return answer;
    }
    m_lost.reset();
    QObject::disconnect(m_listening);
    if (!m_options.past)
        m_listening = store::whenOthersCommit(*m_session, this, [this] { emit committedSomewhere(); });
    if (!m_options.past && (m_queue != nullptr || store::Outbox::holdsSomething(m_options.queueFolder, m_options.path)))
        deliver(answer);
    if (m_lost)
        answer.fault = m_lost;
    return answer;
}

/// In order; a refused one stops nothing behind it, a server that goes away again does.
void DeskWorker::deliver(ContactAnswer& answer)
{
    if (const Done opened = openQueue(); !opened) {
        answer.trouble = opened.error().text;
        return;
    }
    answer.trouble = m_queue->trouble();
    while (!m_queue->waiting().empty()) {
        const store::KeptActs kept = m_queue->waiting().front();
        Done done = registrarReady();
        if (done) {
            // Where people sign in, what somebody kept waits until that person, or a coordinator, is signed in here.
            store::Author author = kept.author;
            author.signedIn = m_signedIn;
            const auto recorded = m_registrar->record(kept.acts, author);
            done = recorded ? Done() : Done(recorded.error());
        }
        const std::string refusal = done ? std::string() : mk::words::said(done.error()).toStdString();
        if (!done && !isFinal(done.error().kind)) {
            notice(done.error());
            answer.trouble = m_lost ? answer.trouble : refusal;
            break;
        }
        if (const Done settled = done ? m_queue->delivered(kept.number) : m_queue->setAside(kept.number, refusal); !settled) {
            answer.trouble = settled.error().text;
            break;
        }
        answer.delivered.push_back(lineFrom(kept, refusal));
    }
    m_reader.reset();
    if (!m_lost && ready())
        answer.zone = m_reader->zone();
    answer.waiting = m_queue->waiting().size();
    for (const auto& refused : m_queue->aside())
        answer.unread.push_back(lineFrom(refused.kept, refused.reason));
}

void DeskWorker::refusalsRead()
{
    if (m_queue != nullptr)
        static_cast<void>(m_queue->readAll()); // where it fails they are shown once more
}

} // namespace mk::desktop
