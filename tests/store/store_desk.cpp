// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/store_desk.h"

#include "store/db/rows.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::store::sample {

using namespace registry;

StoreDesk::StoreDesk(const std::vector<std::pair<std::string, std::string>>& policy) : m_zone(Zone::named("Europe/Berlin").value())
{
    goTo("2026-05-01T05:00");
    auto session = Session::create(path());
    EXPECT_TRUE(session) << session.error().text;
    m_session = std::move(session).value();
    const auto founded = found(*m_session, m_zone.name(), policy, { {}, "desk" }, [this] { return m_now; });
    EXPECT_TRUE(founded) << founded.error().text;
    openRegistrar();
    recordGround();
}

void StoreDesk::openRegistrar()
{
    // The steady clock follows the wall clock: no leaps on this desk.
    auto registrar = Registrar::open(
        *m_session, [this] { return m_now; }, [this] { return m_now; });
    EXPECT_TRUE(registrar) << registrar.error().text;
    m_registrar = std::move(registrar).value();
}

void StoreDesk::reopen()
{
    m_registrar.reset();
    m_session.reset();
    auto session = Session::open(path(), Session::Access::ReadWrite);
    EXPECT_TRUE(session) << session.error().text;
    m_session = std::move(session).value();
    openRegistrar();
}

void StoreDesk::recordGround()
{
    const auto mg = base::GlucoseUnit::MgPerDl;
    const auto printed = base::parsePrintedDate("2027-12-31").value();
    const auto period = base::parsePeriod("12 m").value();
    const base::Date from = base::parseDate("2026-01-01").value();
    const base::Date until = base::parseDate("2027-12-31").value();
    record(acts::WardAdded { base::WardId("W1"), "Ward one" });
    record(acts::ModelAdded { base::ModelId("K1"), mg, decimal("20"), decimal("600"), {}, {}, YesNo::No, YesNo::Yes, {} });
    record(acts::OperatorEnrolled { base::OperatorId("N1"), {}, Role::Nurse, from, until });
    record(acts::OperatorEnrolled { base::OperatorId("N2"), {}, Role::Nurse, from, until });
    record(acts::OperatorEnrolled { base::OperatorId("C1"), {}, Role::Coordinator, {}, {} });
    record(acts::StripLotReceived { base::StripLotId("S1"), base::ModelId("K1"), {}, {}, printed, period, now(), now() });
    record(acts::StripVialOpened { base::StripVialId("V1"), base::StripLotId("S1"), now(), base::WardId("W1") });
    record(acts::ControlLotReceived { base::ControlLotId("CL"), Level::Low, printed, period, now() });
    record(acts::ControlLotReceived { base::ControlLotId("CH"), Level::High, printed, period, now() });
    record(acts::ControlVialOpened { base::ControlVialId("L1"), base::ControlLotId("CL"), now(), base::WardId("W1") });
    record(acts::ControlVialOpened { base::ControlVialId("H1"), base::ControlLotId("CH"), now(), base::WardId("W1") });
    record(acts::RangeAssigned { base::StripLotId("S1"), base::ControlLotId("CL"), Level::Low, mg, decimal("48"), decimal("72"),
        decimal("60"), decimal("3"), Stage::Established, now() });
    record(acts::RangeAssigned { base::StripLotId("S1"), base::ControlLotId("CH"), Level::High, mg, decimal("255"), decimal("345"),
        decimal("300"), decimal("9"), Stage::Established, now() });
    record(acts::MeterEnrolled { base::MeterId("M1"), base::ModelId("K1"), "serial-1", base::WardId("W1"), now(), {} });
}

base::Moment StoreDesk::at(std::string_view text) const
{
    return TextForm<base::Moment>::read(text, { &m_zone, nullptr }).value();
}

base::Result<std::vector<Outcome>> StoreDesk::tryRecord(const Act& act, const std::string& id)
{
    const NewAct one { act, id };
    return m_registrar->record({ &one, 1 }, { {}, "desk" });
}

Outcome StoreDesk::record(const Act& act, const std::string& id)
{
    const auto outcomes = tryRecord(act, id);
    EXPECT_TRUE(outcomes) << kindOf(act) << ": " << base::plainly(outcomes.error());
    return outcomes ? outcomes->front() : Outcome {};
}

acts::ControlRun StoreDesk::aRun(const std::string& set, std::string_view time, Level level, const std::string& result) const
{
    acts::ControlRun run;
    run.set = base::SetId(set);
    run.at = at(time);
    run.meter = base::MeterId("M1");
    run.by = base::OperatorId("N1");
    run.stripVial = base::StripVialId("V1");
    run.level = level;
    run.controlVial = base::ControlVialId(level == Level::Low ? "L1" : "H1");
    run.result = parseReading(result).value();
    return run;
}

void StoreDesk::runSet(const std::string& set, std::string_view time, const std::string& low, const std::string& high)
{
    goTo(time);
    record(aRun(set, time, Level::Low, low));
    m_now += 60'000;
    auto second = aRun(set, time, Level::High, high);
    second.at = now();
    record(second);
}

ImportReport StoreDesk::importFiles(const std::vector<Act>& acts)
{
    std::vector<FileRows> files;
    std::size_t line = 1;
    for (const auto& act : acts) {
        const std::string name(fileOf(act));
        auto file = std::ranges::find(files, name, &FileRows::file);
        if (file == files.end())
            file = files.insert(files.end(), FileRows { name, {}, {}, {} });
        file->rows.push_back({ ++line, act, {} });
    }
    auto report = m_registrar->importFiles(std::move(files), { {}, "desk" });
    EXPECT_TRUE(report) << report.error().text;
    return report ? *report : ImportReport {};
}

Reader StoreDesk::reader(base::Seq asOf)
{
    auto reader = Reader::open(*m_session, asOf);
    EXPECT_TRUE(reader) << reader.error().text;
    return std::move(reader).value();
}

SetRecord StoreDesk::set(const std::string& id, base::Seq asOf)
{
    auto found = reader(asOf).set(base::SetId(id));
    EXPECT_TRUE(found && *found) << id;
    return found && *found ? **found : SetRecord {};
}

Fitness StoreDesk::fitness(std::string_view time, base::Seq asOf)
{
    auto from = reader(asOf);
    const auto row = boardRow(from, base::MeterId("M1"), at(time));
    EXPECT_TRUE(row) << row.error().text;
    return row ? row->fitness : Fitness {};
}

base::Seq StoreDesk::head()
{
    return headOf(*m_session).value().seq;
}

std::vector<Entry> StoreDesk::entries()
{
    std::vector<Entry> all;
    EXPECT_TRUE(eachRow(*m_session, kSelectEntries, {}, [&](const Statement& row) {
        all.push_back(entryFrom(row));
        return base::Done();
    }));
    return all;
}

std::vector<Entry> StoreDesk::entriesOf(std::string_view kind)
{
    auto all = entries();
    std::erase_if(all, [&](const Entry& entry) { return entry.act != kind; });
    return all;
}

void StoreDesk::onPlainConnection(const std::function<void(QSqlQuery&)>& what)
{
    support::pastTheProgram(path(), what);
}

acts::PolicyChanged adoption(base::Moment from, const PolicyPairs& changed)
{
    return { 2, from, completePolicy(changed), base::OperatorId("C1"), "our ward asks for more" };
}

base::Decimal decimal(const std::string& typed)
{
    return base::Decimal::parse(typed).value();
}

std::string codes(const Fitness& fitness)
{
    std::vector<std::string> all;
    for (const auto& reason : fitness.reasons)
        all.emplace_back(registry::code(reason.code));
    std::ranges::sort(all);
    std::string text;
    for (const auto& code : all)
        text += (text.empty() ? "" : " ") + code;
    return text;
}

} // namespace mk::store::sample
