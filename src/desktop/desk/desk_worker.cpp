// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/desk/desk_worker.h"

#include "registry/control/failure_ladder.h"
#include "registry/lots/expiry.h"
#include "registry/meter/meter_life.h"
#include "store/db/listening.h"
#include "store/read/ward_duties.h"

#include <algorithm>
#include <ranges>

namespace mk::desktop {

using base::Done;
using base::Result;

namespace {

constexpr std::int64_t kDayMs = 24 * std::int64_t { 3'600'000 };
constexpr std::int64_t kShownDays = 43;
constexpr int kSetsBefore = 5;

VialLine stripLine(const registry::StripVialRecord* vial, const registry::StripLotRecord* lot, base::Moment at, const registry::Zone& zone)
{
    VialLine line;
    line.against = registry::againstStripVial(vial, lot, at, zone);
    if (vial == nullptr)
        return line;
    line.vial = vial->vial.vial.value;
    line.lot = vial->vial.lot.value;
    if (lot != nullptr)
        if (const auto expiry = registry::effectiveExpiry(lot->lot.expiry, vial->vial.opened, lot->lot.openPeriod, zone))
            line.lastDay = expiry->lastDay;
    return line;
}

VialLine controlLine(
    const registry::ControlVialRecord* vial, const registry::ControlLotRecord* lot, base::Moment at, const registry::Zone& zone)
{
    VialLine line;
    line.against = registry::againstControlVial(vial, lot, at, zone);
    if (vial == nullptr)
        return line;
    line.vial = vial->vial.vial.value;
    line.lot = vial->vial.lot.value;
    if (lot == nullptr)
        return line;
    line.level = lot->lot.level;
    if (const auto expiry = registry::effectiveExpiry(lot->lot.expiry, vial->vial.opened, lot->lot.openPeriod, zone))
        line.lastDay = expiry->lastDay;
    return line;
}

template <typename R>
std::optional<R> copied(const R* record)
{
    return record == nullptr ? std::nullopt : std::optional<R>(*record);
}

const registry::RunRecord* lastRunOf(const registry::SetRecord& set, registry::Level level)
{
    for (const auto& run : std::views::reverse(set.runs))
        if (run.run.level == level)
            return &run;
    return nullptr;
}

} // namespace

Done DeskWorker::ready()
{
    if (m_session == nullptr)
        if (const Done opened = open(); !opened)
            return opened;
    const auto head = store::headOf(*m_session);
    if (!head)
        return head.error();
    if (m_reader && head->seq == m_head)
        return {};
    auto reader = store::Reader::open(*m_session);
    if (!reader)
        return reader.error();
    m_reader.emplace(std::move(reader).value());
    m_head = head->seq;
    m_policy = m_reader->policyAt(now());
    return {};
}

Done DeskWorker::open()
{
    const auto access = m_options.past ? store::Session::Access::ReadOnly : store::Session::Access::ReadWrite;
    auto session = store::Session::open(m_options.path, access, m_options.password);
    if (!session)
        return session.error();
    m_session = std::move(session).value();
    if (!m_options.past)
        m_listening = store::whenOthersCommit(*m_session, this, [this] { emit committedSomewhere(); });
    return {};
}

base::Moment DeskWorker::now() const
{
    return m_options.past ? *m_options.past : m_reader->zone().at(m_options.clock());
}

BoardLine DeskWorker::lineOf(store::BoardRow row) const
{
    BoardLine line { std::move(row), std::nullopt };
    const auto& fitness = line.row.fitness;
    if (fitness.usable || fitness.reasons.empty())
        return line;
    if (fitness.state != registry::MeterState::InService) {
        line.since = fitness.stateSince;
        return line;
    }
    line.since = fitness.reasons.front().since;
    return line;
}

Done DeskWorker::addVials(BoardAnswer& answer)
{
    const auto strips = m_reader->openStripVials(*answer.ward, answer.at);
    if (!strips)
        return strips.error();
    for (const auto& vial : *strips) {
        const auto lot = m_reader->stripLot(vial.vial.lot);
        if (!lot)
            return lot.error();
        answer.vials.push_back(stripLine(&vial, *lot, answer.at, answer.zone));
    }
    const auto controls = m_reader->openControlVials(*answer.ward, answer.at);
    if (!controls)
        return controls.error();
    for (const auto& vial : *controls) {
        const auto lot = m_reader->controlLot(vial.vial.lot);
        if (!lot)
            return lot.error();
        answer.vials.push_back(controlLine(&vial, *lot, answer.at, answer.zone));
    }
    const auto debts = registry::vialDebts(*m_reader, *answer.ward, answer.at);
    if (!debts)
        return debts.error();
    for (auto& line : answer.vials)
        for (const auto& debt : *debts)
            if (debt.vial == line.vial && debt.level == line.level)
                line.owes = debt.what;
    return {};
}

Result<BoardAnswer> DeskWorker::readBoard(const std::optional<base::WardId>& ward)
{
    if (const Done done = ready(); !done)
        return done.error();
    if (const Done noted = noteShown(ward ? "board, ward " + ward->value : std::string("board, all wards")); !noted)
        return noted.error();
    BoardAnswer answer;
    answer.at = now();
    answer.zone = m_reader->zone();
    answer.ward = ward;
    answer.head = m_head;
    const auto setUp = store::isSignInSetUp(*m_session);
    if (!setUp)
        return setUp.error();
    answer.signInSetUp = *setUp;
    answer.autoLogoffMinutes = m_policy->autoLogoffMinutes;
    answer.mayKeep = m_policy->recordOffline && m_options.onServer() && !m_options.queueFolder.empty();
    auto wards = m_reader->wards();
    if (!wards)
        return wards.error();
    answer.wards = std::move(wards).value();
    const auto people = m_reader->people();
    if (!people)
        return people.error();
    for (const auto& person : *people)
        answer.people.push_back(person.act);
    auto rows = store::board(*m_reader, ward, answer.at);
    if (!rows) {
        base::Fault fault = rows.error();
        if (fault.kind == base::FaultKind::NotFound) // the registry is there; what was asked for is not
            fault.kind = base::FaultKind::BadInput;
        return fault;
    }
    auto duties = store::wardDuties(*m_reader, *rows, answer.at);
    if (!duties)
        return duties.error();
    answer.monthsLate = std::move(duties->months);
    std::erase_if(answer.monthsLate, [](const auto& month) { return month.standing != registry::MonthStanding::Late; });
    for (auto& row : *rows)
        answer.lines.push_back(lineOf(std::move(row)));
    if (ward)
        if (const Done done = addVials(answer); !done)
            return done.error();
    return answer;
}

Done DeskWorker::preferUsable(SheetAnswer& answer)
{
    BoardAnswer open;
    open.at = answer.at;
    open.zone = answer.zone;
    open.ward = answer.meter.row.history.ward;
    if (const Done done = addVials(open); !done)
        return done;
    const auto usable = [&](const std::string& id) {
        return std::ranges::any_of(open.vials, [&](const VialLine& vial) { return vial.vial == id && vial.against.empty(); });
    };
    const auto& model = answer.meter.row.history.meter.act.model;
    for (const auto& vial : open.vials) { // newest opening first
        if (!vial.against.empty())
            continue;
        if (!vial.level && !usable(answer.stripVialId)) {
            const auto lot = m_reader->stripLot(base::StripLotId(vial.lot));
            if (!lot)
                return lot.error();
            if (*lot != nullptr && (*lot)->lot.model == model) {
                answer.stripVialId = vial.vial;
                answer.rememberedAt.reset();
            }
        }
        for (auto& level : answer.levels)
            if (vial.level == level.level && !usable(level.vialId))
                level.vialId = vial.vial;
    }
    return {};
}

Done DeskWorker::fillStripVial(SheetAnswer& answer, const SheetQuestion& question)
{
    const auto vial = m_reader->stripVial(base::StripVialId(answer.stripVialId));
    if (!vial)
        return vial.error();
    answer.stripVial = copied(*vial);
    const registry::StripLotRecord* lot = nullptr;
    if (answer.stripVial) {
        const auto found = m_reader->stripLot(answer.stripVial->vial.lot);
        if (!found)
            return found.error();
        lot = *found;
    }
    answer.stripLot = copied(lot);
    answer.stripLine = stripLine(*vial, lot, answer.at, answer.zone);
    if (question.stripVial)
        answer.rememberedAt.reset();
    return {};
}

/// A vial that the ladder is done with is not laid out again: another open one of the level, else none, and the person scans.
Done DeskWorker::leaveSpentVials(SheetAnswer& answer)
{
    const auto& ladder = answer.meter.row.history.ladder;
    if (!ladder)
        return {};
    const auto open = m_reader->openControlVials(answer.meter.row.history.ward, answer.at);
    if (!open)
        return open.error();
    registry::acts::ControlRun run;
    run.stripVial = base::StripVialId(answer.stripVialId);
    const int repeats = m_reader->policyAt(answer.at).repeatsPerStep;
    for (auto& level : answer.levels) {
        run.level = level.level;
        run.controlVial = base::ControlVialId(level.vialId);
        if (registry::mayAttempt(run, *ladder, repeats))
            continue;
        level.vialId.clear();
        for (const auto& vial : *open) { // newest opening first
            run.controlVial = vial.vial.vial;
            const auto lot = m_reader->controlLot(vial.vial.lot);
            if (!lot)
                return lot.error();
            const bool usable = *lot != nullptr && (*lot)->lot.level == level.level
                && registry::againstControlVial(&vial, *lot, answer.at, answer.zone).empty();
            if (level.vialId.empty() && usable && registry::mayAttempt(run, *ladder, repeats))
                level.vialId = vial.vial.vial.value;
        }
    }
    return {};
}

Result<SheetLevel> DeskWorker::levelOf(SheetAnswer& answer, const SheetQuestion& question, registry::Level level)
{
    SheetLevel found;
    found.level = level;
    for (const auto& sheetLevel : answer.levels)
        if (sheetLevel.level == level)
            found.vialId = sheetLevel.vialId;
    for (const auto& [asked, vial] : question.controlVials)
        if (asked == level)
            found.vialId = vial.value;
    registry::acts::ControlRun run; // as it would be recorded now
    run.at = answer.at;
    run.meter = question.meter;
    run.by = question.person;
    run.stripVial = base::StripVialId(answer.stripVialId);
    run.level = level;
    run.controlVial = base::ControlVialId(found.vialId);
    const auto context = registry::contextOf(*m_reader, run);
    const auto ranges = registry::rangesOf(*m_reader, run);
    if (!context || !ranges)
        return context ? ranges.error() : context.error();
    found.known = registry::keptOf(*context);
    for (const auto* beside : ranges->beside)
        found.beside.push_back(*beside);
    found.line = controlLine(context->controlVial, context->controlLot, answer.at, answer.zone);
    return found;
}

Result<SheetAnswer> DeskWorker::readSheet(const SheetQuestion& question)
{
    if (const Done done = ready(); !done)
        return done.error();
    SheetAnswer answer;
    answer.at = now();
    answer.zone = m_reader->zone();
    auto row = store::boardRow(*m_reader, question.meter, answer.at);
    if (!row)
        return row.error();
    answer.meter = lineOf(std::move(row).value());
    const auto person = m_reader->person(question.person);
    if (!person)
        return person.error();
    answer.person = copied(*person);
    if (answer.person) { // competent or not on this model, as the registry will judge
        auto onModel = m_reader->personOnModel(*answer.person, answer.meter.row.history.meter.act.model, answer.at);
        if (!onModel)
            return onModel.error();
        answer.person = std::move(onModel).value();
    }
    const registry::Policy policy = m_reader->policyAt(answer.at);
    answer.clearanceHours = policy.clearanceHours;
    for (const registry::Level level : policy.requiredLevels)
        answer.levels.push_back({ .level = level, .vialId = {} });
    const auto& history = answer.meter.row.history;
    if (history.newestAccepted)
        answer.due = registry::clearedUntil(*history.newestAccepted, policy, answer.zone);

    // What the ward used last on this model is what lies on the trolley now.
    auto rows = store::board(*m_reader, history.ward, answer.at);
    if (!rows)
        return rows.error();
    for (const auto& other : *rows) {
        const auto& set = other.history.newestSet;
        if (!set || set->runs.empty() || other.history.meter.act.model != history.meter.act.model)
            continue;
        if (answer.rememberedAt && *answer.rememberedAt >= set->runs.back().run.at)
            continue;
        answer.rememberedAt = set->runs.back().run.at;
        answer.rememberedFrom = other.history.meter.act.meter;
        answer.stripVialId = set->runs.back().run.stripVial.value;
        for (auto& level : answer.levels)
            if (const auto* run = lastRunOf(*set, level.level))
                level.vialId = run->run.controlVial.value;
    }
    if (const Done done = preferUsable(answer); !done)
        return done.error();
    if (question.stripVial)
        answer.stripVialId = question.stripVial->value;
    if (const Done done = fillStripVial(answer, question); !done)
        return done.error();
    if (const Done done = leaveSpentVials(answer); !done)
        return done.error();
    for (auto& level : answer.levels) {
        auto found = levelOf(answer, question, level.level);
        if (!found)
            return found.error();
        level = std::move(found).value();
    }
    auto before = m_reader->newestSets(question.meter, answer.at, kSetsBefore);
    if (!before)
        return before.error();
    answer.before = std::move(before).value();
    return answer;
}

Result<MeterAnswer> DeskWorker::readMeter(const base::MeterId& id)
{
    if (const Done done = ready(); !done)
        return done.error();
    if (const Done noted = noteShown("meter " + id.value); !noted)
        return noted.error();
    MeterAnswer answer;
    answer.at = now();
    answer.zone = m_reader->zone();
    auto row = store::boardRow(*m_reader, id, answer.at);
    if (!row)
        return row.error();
    answer.meter = lineOf(std::move(row).value());
    auto sets = m_reader->sets(id, base::plusMs(answer.at, -kShownDays * kDayMs), answer.at);
    auto incidents = m_reader->incidents(id);
    auto states = m_reader->states(id);
    auto pairs = m_reader->pairs(id);
    auto lookbacks = m_reader->lookbacks(id);
    auto people = m_reader->people();
    if (!sets || !incidents || !states || !pairs || !lookbacks || !people)
        return !sets     ? sets.error()
            : !incidents ? incidents.error()
            : !states    ? states.error()
            : !pairs     ? pairs.error()
            : !lookbacks ? lookbacks.error()
                         : people.error();
    answer.sets = std::move(sets).value();
    answer.incidents = std::move(incidents).value();
    answer.states = std::move(states).value();
    answer.pairs = std::move(pairs).value();
    answer.lookbacks = std::move(lookbacks).value();
    const auto file = registry::returnFileOf(*m_reader, id, answer.at);
    if (!file)
        return file.error();
    answer.wayBack = registry::askedForReturn(file->evidence(), m_reader->policyAt(answer.at));
    for (const auto& person : *people)
        answer.people.emplace_back(person.act.id.value, person.act.name.value_or(person.act.id.value));
    return answer;
}

Done DeskWorker::registrarReady()
{
    if (const Done done = ready(); !done)
        return done;
    if (m_registrar != nullptr)
        return {};
    auto registrar = store::Registrar::open(*m_session, m_options.clock);
    if (!registrar)
        return registrar.error();
    m_registrar = std::move(registrar).value();
    return {};
}

RecordAnswer DeskWorker::record(const base::MeterId& meter, const std::vector<store::NewAct>& given, const base::OperatorId& person)
{
    RecordAnswer answer;
    answer.meter = meter;
    if (m_options.past) {
        answer.outcome = base::refused("This window shows a past moment; nothing is written from it.");
        return answer;
    }
    const auto acts = withIds(given);
    if (!m_lost && m_queue != nullptr && !m_queue->waiting().empty()) { // nothing overtakes what waits
        ContactAnswer contact;
        deliver(contact);
    }
    const Done ready = m_lost ? Done(*m_lost) : registrarReady();
    if (!ready) {
        answer.outcome = notice(ready.error());
        if (m_lost)
            keepOrSay(answer, acts, person);
        return answer;
    }
    answer.outcome = m_registrar->record(acts, { person, m_options.station, m_signedIn });
    if (!answer.outcome && answer.outcome.error().kind == base::FaultKind::Unreachable) {
        notice(answer.outcome.error());
        answer.mayHaveArrived = true;
        keepOrSay(answer, acts, person);
        return answer;
    }
    if (answer.outcome)
        m_tried.clear();
    m_reader.reset(); // what it kept may be older than what was just written
    if (const Done again = this->ready(); !again) {
        notice(again.error());
        return answer;
    }
    if (auto row = store::boardRow(*m_reader, meter, now())) {
        answer.line = lineOf(std::move(row).value());
        if (const auto file = registry::returnFileOf(*m_reader, meter, now()))
            answer.owed = registry::owedForReturn(file->evidence(), m_reader->policyAt(now()));
        if (auto board = readBoard(answer.line->row.history.ward))
            answer.board = std::move(board).value();
    }
    for (const auto& act : acts)
        if (const auto* run = std::get_if<registry::acts::ControlRun>(&act.act))
            if (auto runs = m_reader->runs(run->set))
                answer.runs = std::move(runs).value();
    return answer;
}

std::optional<base::Seq> DeskWorker::newHead()
{
    if (m_session == nullptr || m_lost)
        return std::nullopt;
    const auto head = store::headOf(*m_session);
    if (!head)
        notice(head.error());
    if (!head || head->seq == m_head)
        return std::nullopt;
    return head->seq;
}

void DeskWorker::close()
{
    signOff();
    m_registrar.reset();
    m_reader.reset();
    m_session.reset();
    m_queue.reset();
}

} // namespace mk::desktop
