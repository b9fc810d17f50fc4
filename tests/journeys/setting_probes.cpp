// SPDX-License-Identifier: GPL-3.0-or-later
#include "journeys/setting_probes.h"

#include "journeys/lot_hands.h"

#include "registry/comparison/comparison.h"
#include "registry/control/late_entry.h"
#include "registry/lots/lot_effect.h"
#include "registry/lots/lot_verification.h"
#include "registry/meter/meter_life.h"
#include "registry/month/month_due.h"
#include "registry/people/competency.h"
#include "registry/people/lock_out.h"
#include "registry/people/presence.h"
#include "registry/people/sign_ins.h"
#include "registry/policy/retention.h"
#include "store/copies/backup.h"
#include "store/read/lot_records.h"
#include "store/read/ward_duties.h"
#include "words/months.h"
#include "words/reasons.h"
#include "words/steps.h"

#include <gtest/gtest.h>

#include <QFile>
#include <QTemporaryDir>

#include <functional>
#include <map>
#include <set>

namespace mk::journeys {
namespace {

using namespace registry;

Policy policyOf(const PolicyPairs& settings)
{
    const auto policy = policyFrom(settings);
    EXPECT_TRUE(policy) << policy.error().text;
    return policy ? *policy : defaultPolicy();
}

const Zone& settingsZone()
{
    static const Zone zone = Zone::named("Europe/Berlin").value();
    return zone;
}

base::Moment settingsMoment(std::string_view text)
{
    return TextForm<base::Moment>::read(text, { &settingsZone(), nullptr }).value();
}

std::string described(const Fitness& fitness)
{
    std::string text = fitness.usable ? "yes" : "no";
    text += fitness.until ? " until " + base::toText(*fitness.until) : std::string();
    for (const auto& reason : fitness.reasons)
        text += "\n" + std::string(code(reason.code)) + (reason.blocks ? "! " : ": ") + words::reasonSaid(reason).toStdString();
    for (const auto& step : fitness.next)
        text += "\nnext " + words::stepSaid(step).toStdString() + (step.by ? " by " + base::toText(*step.by) : std::string());
    return text;
}

/// A meter in service since May, controlled in the morning of 9 October, asked early on the 10th.
MeterHistory settingsHistory()
{
    MeterHistory history;
    history.meter = { { 2 }, { base::MeterId("M1"), base::ModelId("K1"), {}, base::WardId("W1"), settingsMoment("2026-05-01T05:00"), {} } };
    history.state = StateSpell { { 2 }, MeterState::InService, settingsMoment("2026-05-01T05:00"), {} };
    SetRecord set;
    set.seq = { 9 };
    set.judged.verdict = Verdict::Accepted;
    set.judged.firstAt = set.judged.lastAt = settingsMoment("2026-10-09T10:00");
    history.newestAccepted = set;
    return history;
}

std::string fitnessProbe(const PolicyPairs& settings)
{
    const Policy policy = policyOf(settings);
    const base::Moment now = settingsMoment("2026-10-10T06:30");
    MeterHistory history = settingsHistory();
    std::string text = described(assess(history, policy, now, settingsZone()));
    history.errorCodes = { settingsMoment("2026-10-10T01:00"), settingsMoment("2026-10-10T01:05"), settingsMoment("2026-10-10T01:10") };
    history.newestCounted = history.newestAccepted;
    history.newestCounted->judged.drift.flags = { "10x" };
    history.newestCounted->judged.drift.beyondHalfLimit = true;
    acts::UsualFinding usual;
    usual.told = "high";
    history.newestAccepted->judged.drift.usual = usual;
    text += described(assess(history, policy, now, settingsZone()));
    usual.told.reset();
    usual.apartSince = settingsMoment("2026-10-01T06:00");
    usual.levels.emplace_back().apart = true;
    history.newestCounted->judged.drift.flags.clear();
    history.newestCounted->judged.drift.usual = usual;
    text += described(assess(history, policy, now, settingsZone()));
    history.newestCounted->judged.drift.flags = { "10x" };
    history.newestCounted->judged.drift.usual.reset();
    history.newestAccepted->judged.drift.usual.reset();
    history.transfer = TransferRecord { { 5 }, settingsMoment("2026-10-09T12:00"), base::WardId("W1"), base::WardId("W2"), {} };
    text += described(assess(history, policy, now, settingsZone()));
    history = settingsHistory();
    history.newestAccepted.reset();
    text += described(assess(history, policy, now, settingsZone()));
    history = settingsHistory();
    history.state->state = MeterState::Reserve;
    return text + described(assess(history, policy, settingsMoment("2026-12-24T12:00"), settingsZone()));
}

std::string materialsProbe(const PolicyPairs& settings)
{
    Ground ground;
    ground.policy = settings;
    WardWorld ward(ground);
    ward.runSet("old", "2026-05-04T07:00", "60", "300");
    openVial(ward, "V9", "S1", now(ward, "2026-05-04T07:40"));
    ward.record(acts::VialEnded { now(ward, "2026-05-04T07:50"), "V1", base::OperatorId("N1"), VialEndKind::Empty });
    std::string text = described(ward.fitness("2026-05-04T07:55"));
    ward.record(acts::VialEnded { now(ward, "2026-05-04T08:00"), "V9", base::OperatorId("N1"), VialEndKind::Empty });
    bringInReleasedS2(ward, "2026-05-04T08:10");
    return text + described(ward.fitness("2026-05-04T08:15"));
}

std::string verdictProbe(const PolicyPairs& settings)
{
    Ground ground;
    ground.policy = settings;
    WardWorld ward(ground);
    const base::Moment start = now(ward, "2026-05-01T06:00");
    for (const char* meter : { "M2", "M3", "M4" })
        addMeterTo(ward, meter, start);
    ward.run("slow", "2026-05-04T07:00", Level::Low, "60");
    std::vector<SetRecord> sets { ward.run("slow", "2026-05-04T07:20", Level::High, "300") };
    sets.push_back(ward.runSet("far", "2026-05-04T08:00", "71", "300", with("M2", "V1")));
    sets.push_back(ward.runSet("wide", "2026-05-04T08:10", "68.7", "288.3", with("M3", "V1")));
    for (int day = 0; day < 4; ++day)
        sets.push_back(ward.runSet("up" + std::to_string(day), dayOf(day + 1, "09:00"), "64.5", "313.5", with("M4", "V1")));
    for (int day = 0; day < 24; ++day) // a base from three meters, a usual value from twenty controls, and then a move of M4
        for (const char* meter : { "M2", "M3", "M4" }) {
            if (std::string_view(meter) == "M3" && day == 23) // beyond 3 SD of the target, and of its own
                sets.push_back(ward.runSet("odd", dayOf(day + 10, "06:00"), "66.06", "300", with("M3", "V1")));
            const bool moved = day >= 18 && std::string_view(meter) == "M4";
            sets.push_back(ward.runSet(meter + std::to_string(day), dayOf(day + 10, "09:00"),
                moved              ? "63.6"
                    : day % 2 == 0 ? "61"
                                   : "59",
                moved              ? "315"
                    : day % 2 == 0 ? "298"
                                   : "304",
                with(meter, "V1")));
        }
    std::string text;
    for (const auto& set : sets) {
        if (const auto& usual = set.judged.drift.usual) {
            text += std::to_string(usual->up) + usual->told.value_or("") + usual->stops.value_or("");
            for (const auto& level : usual->levels)
                text += " " + std::to_string(level.n) + " " + std::to_string(level.usual.value_or(0)) + " "
                    + std::to_string(level.newest.size()) + " " + std::to_string(level.base);
        }
        text += std::string(word(set.judged.verdict));
        for (const auto& rule : set.judged.rules)
            text += " " + rule;
        for (const auto& flag : set.judged.drift.flags)
            text += " " + flag;
        text += " " + std::to_string(set.judged.drift.ewma) + " " + std::to_string(set.judged.drift.cusumHigh) + "\n";
    }
    return text;
}

std::string comparisonProbe(const PolicyPairs& settings)
{
    const Policy policy = policyOf(settings);
    acts::ComparisonRecorded whole;
    whole.pair = base::PairId("P");
    whole.meter = base::MeterId("M1");
    whole.meterAt = settingsMoment("2026-05-04T08:00");
    whole.labAt = settingsMoment("2026-05-04T08:10");
    whole.sampleType = "venous";
    std::string text;
    const auto judge = [&](const char* lab, const char* meter, base::GlucoseUnit unit,
                           const std::function<void(acts::ComparisonRecorded&)>& but) {
        auto pair = whole;
        pair.labResult = parseReading(lab).value();
        pair.meterResult = parseReading(meter).value();
        pair.unit = unit;
        but(pair);
        const PairRecord record { { 1 }, pair, judgePair(pair, nullptr, policy) };
        text += std::string(word(record.judged.outcome)) + " " + record.judged.limits + (beyondTarget(record, policy) ? " beyond\n" : "\n");
        for (const auto& why : record.judged.excludedBecause)
            text += why + "\n";
    };
    const auto as = [](acts::ComparisonRecorded&) {};
    judge("74", "85", kMg, as);
    judge("100", "111", kMg, as);
    judge("4.1", "4.7", base::GlucoseUnit::MmolPerL, as);
    judge("100", "100", kMg, [](auto& pair) { pair.sampleType = "capillary", pair.labSampleType = "venous", pair.fasting = YesNo::No; });
    judge("100", "100", kMg, [](auto& pair) { pair.drawnAt = pair.meterAt, pair.separatedAt = settingsMoment("2026-05-04T08:40"); });
    return text;
}

std::string consequenceProbe(const PolicyPairs& settings)
{
    Ground ground;
    ground.policy = settings;
    WardWorld ward(ground);
    ward.runSet("good", "2026-05-03T07:00", "60", "300");
    ward.run("bad", "2026-05-04T07:00", Level::Low, "78");
    ward.run("bad", "2026-05-04T07:04", Level::Low, "79");
    now(ward, "2026-05-04T07:08");
    std::string text = ward.refusalOf(ward.aRun("bad", Level::Low, "62")).empty() ? "repeated" : "refused";
    addMeterTo(ward, "M2", now(ward, "2026-05-05T06:00"));
    ward.runSet("before", "2026-05-05T06:30", "60", "300", with("M2", "V1"));
    ward.run("other", "2026-05-05T07:00", Level::Low, "78", with("M2", "V1"));
    ward.run("other", "2026-05-05T07:04", Level::Low, "62", with("M2", "V1"));
    ward.run("other", "2026-05-05T07:06", Level::High, "300", with("M2", "V1"));
    auto reader = ward.reader();
    const auto lookbacks = reader.lookbacks(base::MeterId("M2"));
    EXPECT_TRUE(lookbacks);
    text += " " + std::to_string(lookbacks->size());
    const base::OperatorId c1("C1"), n1("N1");
    const base::Moment due = ward.at("2026-05-20T12:00");
    ward.record(acts::EqaReceived {
        now(ward, "2026-05-06T08:00"), c1, "Ring", "2026-2", "A", due, base::MeterId("M2"), "cool, whole", "2 to 8 C" });
    const base::Moment run = now(ward, "2026-05-06T09:00");
    ward.record(
        acts::EqaReturned { run, n1, "Ring", "2026-2", "A", base::StripVialId("V1"), parseReading("130").value(), kMg, run, YesNo::Yes });
    ward.record(acts::EqaScored { now(ward, "2026-05-07T09:00"), c1, "Ring", "2026-2", "A", decimal("100"), decimal("5"), "212" });
    ReturnEvidence withdrawn;
    withdrawn.state = MeterState::Withdrawn;
    return text + " " + std::string(word(ward.fitness("2026-05-07T10:00", "M2").state)) + " "
        + std::to_string(demandsOf(withdrawn, policyOf(settings)).acceptedSets);
}

std::string peopleProbe(const PolicyPairs& settings)
{
    const Policy policy = policyOf(settings);
    const base::Date first = base::parseDate("2026-01-10").value(), last = base::parseDate("2028-01-10").value();
    std::string text = base::toText(competencyEnd(first, first, policy)) + " " + base::toText(competencyEnd(last, first, policy));
    const OperatorRecord person { { 1 },
        { base::OperatorId("N1"), {}, Role::Nurse, base::parseDate("2026-01-01").value(), base::parseDate("2026-06-30").value() } };
    const auto competency = competencyOf(person, {}, {}, settingsMoment("2026-06-10T12:00"), base::kNewestSeq, policy, settingsZone());
    text += " " + std::string(word(competency.state));
    const std::vector<SignIn> twice { { { 1 }, person.act.id, base::WardId("W1"), "a", settingsMoment("2026-05-04T08:00") },
        { { 2 }, person.act.id, base::WardId("W2"), "b", settingsMoment("2026-05-04T08:08") } };
    return text + " " + std::to_string(clashesOf(twice, policy.sameBadgeMinutes).size());
}

std::string recordsProbe(const PolicyPairs& settings)
{
    const Policy policy = policyOf(settings);
    acts::ControlRun run;
    run.at = settingsMoment("2026-05-04T07:00");
    std::string text = mayEnterLate(run, settingsMoment("2026-05-04T17:00"), policy) ? "taken" : "refused";
    const EntryMark mark = markOf(run.at, settingsMoment("2026-05-04T07:20"), "N1", false, policy);
    text += mark.late ? " late" : " in time";
    Ground ground;
    ground.policy = settings;
    WardWorld ward(ground);
    ward.runSet("typo", "2026-05-04T07:00", "26", "300");
    ward.record(acts::EntryCorrected {
        now(ward, "2026-05-04T07:04"), base::OperatorId("N1"), base::SetId("typo"), Level::Low, "result", "26", "62", "transposed", {} });
    return text + " " + std::string(word(ward.fitness("2026-05-04T07:05").state));
}

std::string monthProbe(const PolicyPairs& settings)
{
    const Policy policy = policyOf(settings);
    LevelFigures figures;
    figures.sdi = 1.7;
    DriftCompany company;
    company.own = { 10, 3.0 };
    company.others.assign(5, { 10, 0.0 });
    OccasionInput days { { std::chrono::year(2026) / 5 / 1 }, { std::chrono::year(2026) / 5 / 31 }, settingsMoment("2026-05-31T12:00"),
        settingsMoment("2026-04-01T00:00"), {}, { { settingsMoment("2026-04-01T00:00"), settingsMoment("2026-05-31T12:00") } }, {}, {} };
    for (const char* time : { "2026-05-04T08:00", "2026-05-05T09:30" })
        days.sets.push_back({ settingsMoment(time), settingsMoment(time), base::plusMs(settingsMoment(time), 24 * 3'600'000) });
    const auto met = std::ranges::count(occasionsOf(days, policy, Zone::utc()).days, Occasion::Met, &OccasionDay::what);
    return std::to_string(met) + " " + base::toText(signatureDue({ 2026, 5 }, policy)) + " "
        + words::sdiInWords(figures, policy).toStdString() + " "
        + std::to_string(static_cast<int>(lotEffectOf({ &company, 1 }, policy).finding));
}

std::string signInProbe(const PolicyPairs& settings)
{
    const Policy policy = policyOf(settings);
    std::vector<SecretEvent> failures;
    for (const char* time : { "2026-05-04T08:00", "2026-05-04T08:01", "2026-05-04T08:02", "2026-05-04T08:03", "2026-05-04T08:04" })
        failures.push_back({ SecretEvent::What::Failed, settingsMoment(time) });
    const auto lock = lockOutOf(failures, policy.signInTries, policy.signInLockMinutes);
    return (lock.until ? base::toText(*lock.until) : std::string("open")) + " "
        + std::to_string(static_cast<int>(presenceAfter(6 * 60'000, policy.autoLogoffMinutes)));
}

std::string keepingProbe(const PolicyPairs& settings)
{
    Ground ground;
    ground.policy = settings;
    WardWorld ward(ground);
    auto reader = ward.reader();
    const auto standing = store::copyStanding(reader, ward.at("2026-05-04T05:00"));
    EXPECT_TRUE(standing);
    return std::string(standing->overdue ? "overdue " : "in time ")
        + base::toText(retentionEnds(base::parseDate("2026-05-04").value(), policyOf(settings)));
}

std::string lotsProbe(const PolicyPairs& settings)
{
    std::string text;
    for (const auto& line : missingForRelease({ "S2", {}, {}, {}, {} }, policyOf(settings)))
        text += line + "\n";
    Ground ground;
    ground.policy = settings;
    WardWorld ward(ground);
    acts::ShipmentReceived shipment { now(ward, "2026-05-01T06:00"), base::OperatorId("N1"), "S1", "D-1", decimal("5"), "good", "green",
        "cupboard" };
    EXPECT_EQ(recordBy(ward, "N1", shipment), "");
    auto reader = ward.reader();
    const auto stock = store::stockOf(reader, {}, ward.at("2026-05-04T05:00"));
    EXPECT_TRUE(stock);
    text += std::to_string(stock->expiringSoon.size()) + " " + std::to_string(stock->lotsRunningLow.size());
    ward.record(
        acts::ControlVialOpened { base::ControlVialId("L2"), base::ControlLotId("CL"), now(ward, "2026-05-04T07:30"), base::WardId("W1") });
    auto later = ward.reader();
    const auto debts = vialDebts(later, base::WardId("W1"), ward.at("2026-05-04T08:15"));
    EXPECT_TRUE(debts);
    for (const auto& debt : *debts)
        text += "\n" + debt.vial + " " + std::string(word(debt.what));
    return text;
}

/// What the coordinator reads above a preview of that document, before it is adopted.
std::string shownProbe(const PolicyPairs& settings)
{
    WardWorld ward { Ground() };
    const QTemporaryDir folder;
    QFile document(folder.filePath(QStringLiteral("ward.policy")));
    EXPECT_TRUE(document.open(QIODevice::WriteOnly));
    document.write("clearance_hours = 24\n"); // an empty document is none
    for (const auto& [key, value] : settings)
        document.write(QByteArray::fromStdString(key + " = " + value + "\n"));
    document.close();
    const Ran ran = cli(ward,
        { QStringLiteral("policy"), QStringLiteral("preview"), document.fileName(), QStringLiteral("--months"), QStringLiteral("1") });
    EXPECT_EQ(ran.status, 0) << ran.err.toStdString();
    return ran.out.left(ran.out.indexOf('\n')).toStdString();
}

} // namespace

/// Who answers for a use; the row of the table says the use.
std::string answerOf(SettingUse use, const PolicyPairs& settings)
{
    switch (use) {
    case SettingUse::Shown: return shownProbe(settings);
    case SettingUse::Fitness: return fitnessProbe(settings) + materialsProbe(settings);
    case SettingUse::Verdict: return verdictProbe(settings);
    case SettingUse::Comparison: return comparisonProbe(settings);
    case SettingUse::Consequence: return consequenceProbe(settings);
    case SettingUse::People: return peopleProbe(settings);
    case SettingUse::Records: return recordsProbe(settings);
    case SettingUse::Month: return monthProbe(settings);
    case SettingUse::SignIn: return signInProbe(settings);
    case SettingUse::Keeping: return keepingProbe(settings);
    case SettingUse::Lots: return lotsProbe(settings);
    }
    return {};
}

} // namespace mk::journeys
