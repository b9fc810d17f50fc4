// SPDX-License-Identifier: GPL-3.0-or-later
#include "journeys/ward_world.h"

#include "exchange/registry_csv.h"
#include "store/db/rows.h"
#include "words/faults.h"
#include "words/reasons.h"
#include "words/steps.h"

#include <QProcess>

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::journeys {

using namespace registry;
using base::Moment;

Ground olderGround()
{
    Ground ground;
    ground.policy = { { "drift_method", "group-target" }, { "rule_reference", "target" }, { "cusum_k", "0.5" } };
    return ground;
}

WardWorld::WardWorld(const Ground& ground) : m_zone(Zone::named("Europe/Berlin").value())
{
    m_wall = at(ground.day + "T05:00").utcMs;
    auto session = store::Session::create(path());
    EXPECT_TRUE(session) << session.error().text;
    m_session = std::move(session).value();
    std::vector<std::pair<std::string, std::string>> settings; // today's, but for those that the ground names
    for (const auto& setting : defaultPolicySettings()) {
        const auto other = std::ranges::find(ground.policy, setting.key, &std::pair<std::string, std::string>::first);
        settings.emplace_back(setting.key, other == ground.policy.end() ? setting.text : other->second);
    }
    const auto seq = store::found(*m_session, m_zone.name(), settings, { {}, "test" }, [this] { return m_wall; });
    EXPECT_TRUE(seq) << seq.error().text;
    openRegistrar();
    if (!ground.empty)
        recordGround(ground);
}

void WardWorld::openRegistrar()
{
    auto registrar = store::Registrar::open(
        *m_session, [this] { return m_wall; }, [this] { return m_steady; });
    EXPECT_TRUE(registrar) << registrar.error().text;
    m_registrar = std::move(registrar).value();
}

void WardWorld::recordGround(const Ground& ground)
{
    using base::parsePeriod;
    using base::parsePrintedDate;
    const Moment start = m_zone.at(m_wall);
    const base::Date from = base::parseDate("2026-01-01").value();
    const base::Date until = base::parseDate("2030-12-31").value();
    const auto mg = base::GlucoseUnit::MgPerDl;
    record(acts::WardAdded { base::WardId("W1"), "Ward one" });
    record(acts::ModelAdded {
        base::ModelId("K1"), mg, decimal("20"), decimal("600"), decimal("20"), decimal("65"), YesNo::No, YesNo::Yes, {} });
    for (const char* nurse : { "N1", "N2" })
        record(acts::OperatorEnrolled { base::OperatorId(nurse), std::string("Nurse ") + nurse, Role::Nurse, from, until });
    record(acts::OperatorEnrolled { base::OperatorId("C1"), "Coordinator", Role::Coordinator, {}, {} });
    record(acts::StripLotReceived { base::StripLotId("S1"), base::ModelId("K1"), {}, {}, parsePrintedDate(ground.stripExpiry).value(),
        parsePeriod(ground.stripPeriod).value(), start, start });
    record(acts::StripVialOpened { base::StripVialId("V1"), base::StripLotId("S1"), start, base::WardId("W1") });
    const struct {
        const char* lot;
        const char* vial;
        Level level;
        const char *low, *high, *mean, *sd;
    } kControls[] = { { "CL", "L1", Level::Low, "48", "72", "60", "3" }, { "CH", "H1", Level::High, "255", "345", "300", "9" } };
    for (const auto& control : kControls) {
        record(acts::ControlLotReceived {
            base::ControlLotId(control.lot), control.level, parsePrintedDate("2030-12-31").value(), parsePeriod("24 m").value(), start });
        record(acts::ControlVialOpened { base::ControlVialId(control.vial), base::ControlLotId(control.lot), start, base::WardId("W1") });
        record(acts::RangeAssigned { base::StripLotId("S1"), base::ControlLotId(control.lot), control.level, mg, decimal(control.low),
            decimal(control.high), decimal(control.mean), decimal(control.sd), Stage::Established, start });
    }
    record(acts::MeterEnrolled { base::MeterId("M1"), base::ModelId("K1"), "serial-1", base::WardId("W1"), start, MeterState::InService });
}

Moment WardWorld::at(std::string_view text) const
{
    const auto moment = TextForm<Moment>::read(text, { &m_zone, nullptr });
    EXPECT_TRUE(moment) << text;
    return *moment;
}

void WardWorld::goTo(std::string_view text)
{
    const std::int64_t then = at(text).utcMs;
    m_steady += then - m_wall;
    m_wall = then;
}

void WardWorld::leapTo(std::string_view text)
{
    m_wall = at(text).utcMs;
}

void WardWorld::reopen()
{
    m_registrar.reset();
    m_session.reset();
    auto session = store::Session::open(path(), store::Session::Access::ReadWrite);
    EXPECT_TRUE(session) << session.error().text;
    m_session = std::move(session).value();
    openRegistrar();
}

base::Result<std::vector<store::Outcome>> WardWorld::tryRecord(const Act& act)
{
    const store::NewAct one { act, {} };
    return m_registrar->record({ &one, 1 }, { {}, "test" });
}

store::Outcome WardWorld::record(const Act& act)
{
    const auto outcomes = tryRecord(act);
    EXPECT_TRUE(outcomes) << kindOf(act) << ": " << base::plainly(outcomes.error());
    return outcomes ? outcomes->front() : store::Outcome {};
}

std::string WardWorld::refusalOf(const Act& act)
{
    const auto outcomes = tryRecord(act);
    return outcomes ? std::string() : words::said(outcomes.error()).toStdString();
}

acts::ControlRun WardWorld::aRun(const std::string& set, Level level, const std::string& result, const Setting& setting)
{
    acts::ControlRun run;
    run.set = base::SetId(set);
    run.at = m_zone.at(m_wall);
    run.meter = base::MeterId(setting.meter);
    run.by = base::OperatorId(setting.person);
    run.stripVial = base::StripVialId(setting.strip);
    run.level = level;
    run.controlVial = base::ControlVialId(level == Level::Low ? setting.low : setting.high);
    run.result = parseReading(result).value();
    run.unit = setting.unit;
    return run;
}

SetRecord WardWorld::run(const std::string& set, std::string_view time, Level level, const std::string& result, const Setting& setting)
{
    goTo(time);
    const auto outcome = record(aRun(set, level, result, setting));
    EXPECT_TRUE(outcome.set);
    return outcome.set.value_or(SetRecord {});
}

SetRecord WardWorld::runSet(
    const std::string& set, std::string_view time, const std::string& low, const std::string& high, const Setting& setting)
{
    run(set, time, Level::Low, low, setting);
    m_wall += 2 * 60'000;
    m_steady += 2 * 60'000;
    return record(aRun(set, Level::High, high, setting)).set.value_or(SetRecord {});
}

void WardWorld::incident(IncidentKind kind, std::string_view happened, const std::string& meter, const std::string& person)
{
    record(acts::IncidentReported { at(happened), m_zone.at(m_wall), base::MeterId(meter), base::OperatorId(person), kind, {} });
}

void WardWorld::step(ReturnStepKind kind, std::string_view time, const std::string& person, const std::string& meter)
{
    goTo(time);
    record(acts::ReturnStep { m_zone.at(m_wall), base::MeterId(meter), base::OperatorId(person), kind, {} });
}

store::Reader WardWorld::reader(base::Seq asOf)
{
    auto reader = store::Reader::open(*m_session, asOf);
    EXPECT_TRUE(reader) << reader.error().text;
    return std::move(reader).value();
}

Fitness WardWorld::fitness(std::string_view time, const std::string& meter, base::Seq asOf)
{
    auto from = reader(asOf);
    const auto row = store::boardRow(from, base::MeterId(meter), at(time));
    EXPECT_TRUE(row) << row.error().text;
    return row ? row->fitness : Fitness {};
}

std::optional<Fitness> WardWorld::asKnownThen(std::string_view time, const std::string& meter)
{
    const auto known = store::asKnownThen(*m_session, base::MeterId(meter), at(time));
    EXPECT_TRUE(known) << known.error().text;
    return known ? *known : std::nullopt;
}

SetRecord WardWorld::set(const std::string& id, base::Seq asOf)
{
    auto found = reader(asOf).set(base::SetId(id));
    EXPECT_TRUE(found && *found) << id;
    return found && *found ? **found : SetRecord {};
}

base::Seq WardWorld::head()
{
    return store::headOf(*m_session).value().seq;
}

std::vector<store::Entry> WardWorld::entries()
{
    std::vector<store::Entry> all;
    const base::Done read = store::eachRow(*m_session, store::kSelectEntries, {}, [&](const store::Statement& row) {
        all.push_back(store::entryFrom(row));
        return base::Done();
    });
    EXPECT_TRUE(read);
    return all;
}

std::vector<store::Entry> WardWorld::entriesOf(std::string_view kind)
{
    auto all = entries();
    std::erase_if(all, [&](const store::Entry& entry) { return entry.act != kind; });
    return all;
}

store::Verification WardWorld::verification()
{
    const auto found = store::verify(*m_session, std::nullopt);
    EXPECT_TRUE(found) << found.error().text;
    return found ? *found : store::Verification {};
}

store::ImportReport WardWorld::import(const std::map<std::string, std::string>& files)
{
    std::vector<FileRows> rows;
    for (const auto& [name, text] : files)
        rows.push_back(exchange::readRegistryFile(name, text, m_zone));
    auto report = m_registrar->importFiles(std::move(rows), { {}, "test" });
    EXPECT_TRUE(report) << report.error().text;
    return report ? *report : store::ImportReport {};
}

std::map<std::string, std::string> groundFiles()
{
    return {
        { "wards.csv", "ward,name\nW1,Ward one\n" },
        { "models.csv",
            "model,unit,low,high,haematocrit_low,haematocrit_high,needs_code,shared_use,market_approval\nK1,mg/dL,20,600,20,65,no,yes,\n" },
        { "meters.csv", "meter,model,serial,ward,enrolled,state\nM1,K1,serial-1,W1,2026-05-01,\n" },
        { "operators.csv",
            "operator,name,role,competent_from,competent_until\nN1,Nurse one,nurse,2026-01-01,2030-12-31\n"
            "N2,Nurse two,nurse,2026-01-01,2030-12-31\nC1,Coordinator,coordinator,,\n" },
        { "strip_lots.csv",
            "lot,model,gtin,code,expiry,open_period,received,released\nS1,K1,,,2030-12-31,90 d,2026-05-01T05:00,2026-05-01T05:00\n" },
        { "strip_vials.csv", "vial,lot,opened,ward\nV1,S1,2026-05-01T05:00,W1\n" },
        { "control_lots.csv",
            "lot,level,expiry,open_period,received\nCL,low,2030-12-31,24 m,2026-05-01\nCH,high,2030-12-31,24 m,2026-05-01\n" },
        { "control_vials.csv", "vial,lot,opened,ward\nL1,CL,2026-05-01T05:00,W1\nH1,CH,2026-05-01T05:00,W1\n" },
        { "ranges.csv",
            "strip_lot,control_lot,level,unit,low,high,mean,sd,stage,from\nS1,CL,low,mg/dL,48,72,60,3,established,2026-05-01T05:00\n"
            "S1,CH,high,mg/dL,255,345,300,9,established,2026-05-01T05:00\n" },
    };
}

store::FileReport reportOf(const store::ImportReport& report, std::string_view file)
{
    const auto found = std::ranges::find(report.files, file, &store::FileReport::file);
    return found == report.files.end() ? store::FileReport {} : *found;
}

std::string reasonOfLine(const store::FileReport& report, std::size_t line)
{
    const auto found = std::ranges::find(report.rejected, line, &RejectedRow::line);
    return found == report.rejected.end() ? std::string() : words::said(found->fault).toStdString();
}

std::string codes(const Fitness& fitness)
{
    std::vector<std::string> all;
    for (const auto& each : fitness.reasons)
        all.emplace_back(registry::code(each.code));
    std::ranges::sort(all);
    std::string text;
    for (const auto& code : all)
        text += (text.empty() ? "" : " ") + code;
    return text;
}

const Reason* reason(const Fitness& fitness, std::string_view code)
{
    const auto found = std::ranges::find_if(fitness.reasons, [&](const Reason& reason) { return registry::code(reason.code) == code; });
    return found == fitness.reasons.end() ? nullptr : &*found;
}

std::string said(const Fitness& fitness, std::string_view code)
{
    const Reason* stands = reason(fitness, code);
    return stands == nullptr ? std::string() : words::reasonSaid(*stands).toStdString();
}

std::vector<std::string> nextSaid(const Fitness& fitness)
{
    std::vector<std::string> steps;
    for (const auto& step : fitness.next)
        steps.push_back(words::stepSaid(step).toStdString());
    return steps;
}

base::Decimal decimal(const std::string& typed)
{
    return base::Decimal::parse(typed).value();
}

Ran cli(const WardWorld& ward, QStringList arguments)
{
    arguments.prepend(QString::fromStdString(ward.path()));
    arguments.prepend(QStringLiteral("--registry"));
    QProcess program;
    program.start(QStringLiteral(MK_CLI), arguments);
    EXPECT_TRUE(program.waitForFinished(60'000));
    return { program.exitCode(), program.readAllStandardOutput(), program.readAllStandardError() };
}

} // namespace mk::journeys
