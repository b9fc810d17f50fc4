// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

#include <algorithm>

namespace mk::registry::sample {

DeskWard::DeskWard()
{
    goTo("2026-05-01T05:00");
    layOut();
    goTo("2026-05-04T08:00");
}

void DeskWard::layOut()
{
    const Materials m;
    const base::Moment start = facts.now;
    for (const char* ward : { "W1", "W2" })
        facts.put(acts::WardAdded { base::WardId(ward), {} });
    facts.put(m.model.act);
    const auto person = [&](const char* id, Role role) {
        acts::OperatorEnrolled enrolled = m.person.act;
        enrolled.id = base::OperatorId(id);
        enrolled.role = role;
        facts.put(enrolled);
    };
    person("N1", Role::Nurse);
    person("N2", Role::Nurse);
    person("C1", Role::Coordinator);
    person("I1", Role::Inspector);
    person("N3", Role::Nurse);
    acts::OperatorEnrolled lapsed = m.person.act; // competent no more
    lapsed.id = base::OperatorId("N4");
    lapsed.role = Role::Nurse;
    lapsed.competentUntil = base::Date { std::chrono::year(2026) / 4 / 30 };
    facts.put(lapsed);
    for (const char* meter : { "M1", "M2" })
        facts.put(
            acts::MeterEnrolled { base::MeterId(meter), base::ModelId("K1"), std::string("SN-") + meter, base::WardId("W1"), start, {} });
    facts.put(m.stripLot.lot);
    facts.put(acts::LotEvent { start, "S1", base::OperatorId("C1"), LotEventKind::Released, {}, {} });
    for (const char* vial : { "V1", "V2" })
        facts.put(acts::StripVialOpened { base::StripVialId(vial), base::StripLotId("S1"), start, base::WardId("W1"), {} });
    facts.put(m.lowLot.lot);
    facts.put(m.highLot.lot);
    for (const char* vial : { "L1", "L2" })
        facts.put(acts::ControlVialOpened { base::ControlVialId(vial), base::ControlLotId("CL"), start, base::WardId("W1"), {} });
    facts.put(m.highVial.vial);
    facts.put(m.lowRange.act);
    facts.put(m.highRange.act);
}

acts::ComparisonRecorded DeskWard::pair(const std::string& id, const std::string& meter, const std::string& lab) const
{
    acts::ComparisonRecorded pair;
    pair.pair = base::PairId(id);
    pair.meter = base::MeterId("M1");
    pair.meterAt = base::plusMs(facts.now, -10 * 60'000);
    pair.labAt = base::plusMs(facts.now, -6 * 60'000);
    pair.by = base::OperatorId("N1");
    pair.meterResult = parseReading(meter).value();
    pair.labResult = parseReading(lab).value();
    return pair;
}

base::Done DeskWard::tryBatch(const std::vector<Act>& acts)
{
    facts.imported = imported;
    const desk::Occasion occasion { imported, facts.now, base::OperatorId(author) };
    desk::Judging judging(facts, facts, occasion, m_works);
    for (const auto& act : acts) {
        desk::Desk desk { facts, facts, judging, occasion, occasion.nameFor(act) };
        auto admitted = desk::admit(desk, act);
        if (!admitted)
            return admitted.error();
        const auto entered = desk::asEntered(desk, act);
        if (!entered)
            return entered.error();
        const Act& whole = *entered ? **entered : act;
        const base::Seq seq = facts.put(whole, desk.person);
        if (const base::Done followed = desk::follow(desk, seq, whole, std::move(admitted).value()); !followed)
            return followed;
    }
    return judging.settle();
}

base::Seq DeskWard::record(const Act& act)
{
    const base::Seq seq { static_cast<std::int64_t>(facts.entries().size()) + 1 };
    const base::Done done = tryAct(act);
    EXPECT_TRUE(done) << (done ? "" : base::plainly(done.error()));
    return seq;
}

std::string DeskWard::codeOf(const Act& act)
{
    const base::Done done = tryAct(act);
    return done ? std::string() : std::string(done.error().code);
}

std::optional<FaultKind> DeskWard::faultOf(const Act& act)
{
    const base::Done done = tryAct(act);
    return done ? std::nullopt : std::optional(done.error().kind);
}

acts::ControlRun DeskWard::run(const std::string& set, Level level, const std::string& result) const
{
    acts::ControlRun run = aRun(set, "2026-05-04T08:00", level, result);
    run.at = facts.now;
    return run;
}

void DeskWard::runSet(const std::string& set, const std::string& low, const std::string& high)
{
    const base::Done done = tryBatch({ run(set, Level::Low, low), run(set, Level::High, high) });
    EXPECT_TRUE(done) << (done ? "" : base::plainly(done.error()));
}

std::vector<StopRecord> DeskWard::openStops(const std::string& meter)
{
    auto stops = facts.stops(base::MeterId(meter)).value();
    std::erase_if(stops, [](const StopRecord& stop) { return stop.endedBy.has_value(); });
    return stops;
}

std::vector<std::string> DeskWard::openCauses(const std::string& meter)
{
    std::vector<std::string> causes;
    for (const auto& each : openStops(meter))
        causes.push_back(each.stop.cause);
    return causes;
}

MeterState DeskWard::state(const std::string& meter)
{
    return facts.stateAt(base::MeterId(meter), facts.now).value()->state;
}

std::optional<Verdict> DeskWard::verdict(const std::string& set)
{
    const auto known = facts.set(base::SetId(set)).value();
    return known ? std::optional(known->judged.verdict) : std::nullopt;
}

} // namespace mk::registry::sample
