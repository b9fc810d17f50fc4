// SPDX-License-Identifier: GPL-3.0-or-later
// A month told beside its figures (handbook 7.2): a small story for each kind, and none for a month in which nothing happened.
#include "registry/desk/desk_ward.h"
#include "registry/meter/whole_life.h"
#include "registry/month/month_events.h"

#include <algorithm>

namespace mk::registry::sample {
namespace {

/// The desk's ward and its May, as the store would read it.
class MonthTold : public ::testing::Test {
protected:
    MonthEvents told(const char* cutOff = "2026-06-02T10:00")
    {
        std::vector<MonthMeterInput> meters;
        const auto known = ward.facts.meters();
        for (const auto& meter : *known) {
            const base::MeterId& id = meter.act.meter;
            MonthMeterInput input;
            input.meter = meter;
            input.sets = ward.facts.sets(id, at("2026-05-01T00:00"), at(cutOff)).value();
            input.states = ward.facts.states(id).value();
            input.wards = { { meter.seq, meter.act.ward, meter.act.enrolled } };
            input.incidents = ward.facts.incidents(id).value();
            input.stops = ward.facts.stops(id).value();
            input.lookbacks = ward.facts.lookbacks(id).value();
            meters.push_back(std::move(input));
        }
        const MonthFigures figures = monthFigures(
            meters, { 2026, 5 }, base::WardId("W1"), ward.facts.policy, ward.facts.zone(), at(cutOff));
        MonthEventsInput input { ward.facts, meters, figures };
        input.standing = standing;
        for (const auto& entry : ward.facts.entries())
            if (entry.annulledBy)
                input.annulled.push_back({ entry.seq, *entry.annulledBy });
        auto events = monthEvents(input);
        EXPECT_TRUE(events) << (events ? "" : events.error().text);
        return events ? std::move(events).value() : MonthEvents {};
    }

    void stands(const char* meter, ReasonCode code, std::vector<base::Seq> evidence, const char* due)
    {
        Reason reason;
        reason.code = code;
        reason.evidence = std::move(evidence);
        Overdue overdue;
        overdue.due = at(due);
        reason.facts = overdue;
        standing[base::MeterId(meter)].reasons.push_back(reason);
    }

    base::Seq compare(const char* id, const char* meter, const char* lab) { return ward.record(ward.pair(id, meter, lab)); }

    base::Seq incident(IncidentKind what)
    {
        acts::IncidentReported act;
        act.at = ward.facts.now;
        act.meter = base::MeterId("M1");
        act.by = base::OperatorId("N1");
        act.what = what;
        return ward.facts.put(act);
    }

    DeskWard ward;
    std::map<base::MeterId, Fitness> standing;
};

TEST_F(MonthTold, NothingHappenedAndEveryListIsEmpty)
{
    const MonthEvents events = told();
    EXPECT_TRUE(events.comparisons.empty());
    EXPECT_TRUE(events.lookbacks.empty());
    EXPECT_TRUE(events.nonconformities.empty());
    EXPECT_TRUE(events.notices.empty());
    EXPECT_TRUE(events.vials.empty());
    EXPECT_TRUE(events.cleaning.empty());
    EXPECT_TRUE(events.proficiency.empty());
    EXPECT_TRUE(events.annulled.empty());
    EXPECT_TRUE(events.corrected.empty());
}

TEST_F(MonthTold, ComparisonsPassedFailedAndOwed)
{
    const base::Seq failed = compare("P1", "160", "100");
    ward.goTo("2026-05-06T08:00");
    const base::Seq passed = compare("P2", "100", "100");
    ward.goTo("2026-06-01T08:00");
    compare("P3", "100", "100");
    stands("M2", ReasonCode::ComparisonOverdue, { { 7 } }, "2026-05-20T06:00");
    const auto all = told().comparisons;
    ASSERT_EQ(all.size(), 3u) << "the third pair is June's";
    EXPECT_EQ(all[0].standing, ComparisonStanding::Failed);
    EXPECT_EQ(all[0].pairs, std::vector { base::PairId("P1") });
    EXPECT_EQ(all[0].evidence, std::vector { failed });
    EXPECT_EQ(all[1].standing, ComparisonStanding::Passed);
    EXPECT_EQ(all[1].evidence, std::vector { passed });
    EXPECT_EQ(all[2].standing, ComparisonStanding::Overdue);
    EXPECT_EQ(all[2].meter, base::MeterId("M2"));
    EXPECT_EQ(all[2].at, at("2026-05-20T06:00"));
    EXPECT_EQ(all[2].evidence, std::vector { base::Seq { 7 } });
}

TEST_F(MonthTold, ALookbackIsOpenUntilItIsDecided)
{
    acts::LookbackOpened opened;
    opened.meter = base::MeterId("M1");
    opened.at = at("2026-05-04T08:00");
    opened.from = at("2026-05-03T08:00");
    opened.to = opened.at;
    opened.cause = "comparison-failed";
    const base::Seq seq = ward.facts.put(opened);
    ASSERT_EQ(told().lookbacks.size(), 1u);
    EXPECT_TRUE(told().lookbacks.front().open);
    acts::LookbackClosed closed;
    closed.at = at("2026-06-01T09:00");
    closed.by = base::OperatorId("C1");
    closed.entry = seq;
    closed.decision = "no result in doubt";
    ward.facts.put(closed);
    const auto decided = told().lookbacks;
    ASSERT_EQ(decided.size(), 1u);
    EXPECT_TRUE(decided.front().open) << "at the end of May";
    EXPECT_EQ(decided.front().closedBy, base::OperatorId("C1"));
    EXPECT_EQ(decided.front().evidence.front(), seq);
}

TEST_F(MonthTold, NonconformitiesAndNotices)
{
    acts::NcOpened opened;
    opened.at = at("2026-05-05T08:00");
    opened.by = base::OperatorId("N1");
    opened.type = "technique";
    opened.subject = "M1";
    opened.description = "Hands not washed.";
    opened.due = base::parseDate("2026-05-20").value();
    const base::Seq seq = ward.facts.put(opened);
    acts::NoticeIssued notice;
    notice.at = at("2026-05-07T08:00");
    notice.by = base::OperatorId("C1");
    notice.notice = "FSN-1";
    notice.text = "Strips read high.";
    ward.facts.put(notice);
    const MonthEvents events = told();
    ASSERT_EQ(events.nonconformities.size(), 1u);
    EXPECT_EQ(events.nonconformities.front().item.entry, seq);
    EXPECT_TRUE(events.nonconformities.front().overdue);
    ASSERT_EQ(events.notices.size(), 1u);
    EXPECT_TRUE(events.notices.front().open);
    EXPECT_EQ(events.notices.front().notice.notice.notice, "FSN-1");
}

TEST_F(MonthTold, AnUndatedVialIsToldOnceWhoeverUsedIt)
{
    acts::StripVialOpened undated;
    undated.vial = base::StripVialId("V9");
    undated.lot = base::StripLotId("S1");
    ward.facts.put(undated);
    std::vector<base::Seq> runs;
    for (const char* meter : { "M1", "M2" }) {
        acts::ControlRun run = ward.run(std::string("set-") + meter, Level::Low, "60");
        run.meter = base::MeterId(meter);
        run.stripVial = undated.vial;
        runs.push_back(ward.record(run));
    }
    const auto vials = told().vials;
    ASSERT_EQ(vials.size(), 1u);
    EXPECT_EQ(vials.front().vial, "V9");
    EXPECT_TRUE(vials.front().undated);
    EXPECT_EQ(vials.front().against, std::vector { ReasonCode::StripVialExpired });
    EXPECT_EQ(vials.front().meters.size(), 2u);
    EXPECT_EQ(vials.front().evidence, runs);
}

TEST_F(MonthTold, CompetencyThatEndedAndThatEndsSoon)
{
    const auto person = [&](const char* id, const char* until) {
        acts::OperatorEnrolled enrolled;
        enrolled.id = base::OperatorId(id);
        enrolled.role = Role::Nurse;
        enrolled.competentFrom = base::parseDate("2025-01-01").value();
        enrolled.competentUntil = base::parseDate(until).value();
        return ward.facts.put(enrolled);
    };
    const base::Seq ended = person("N8", "2026-05-10");
    person("N9", "2026-06-10");
    std::vector<MonthCompetency> all = told().competency;
    std::erase_if(all, [](const MonthCompetency& each) { return each.person.act.id < base::OperatorId("N8"); });
    ASSERT_EQ(all.size(), 2u);
    EXPECT_EQ(all[0].state, CompetencyState::Lapsed);
    EXPECT_EQ(all[0].until, base::parseDate("2026-05-10").value());
    EXPECT_EQ(all[0].evidence, std::vector { ended });
    EXPECT_TRUE(all[0].models.empty()) << "every model";
    EXPECT_EQ(all[1].state, CompetencyState::Due);
}

TEST_F(MonthTold, CleaningLoggedAndOwed)
{
    incident(IncidentKind::Cleaned);
    auto all = told().cleaning;
    ASSERT_EQ(all.size(), 1u) << "what was logged is told though no policy asks";
    EXPECT_FALSE(all.front().asked);
    EXPECT_TRUE(all.front().overdue.empty());
    ward.facts.policy.cleaningInterval = base::Period { 7, base::Period::Unit::Days };
    ward.goTo("2026-05-20T08:00");
    incident(IncidentKind::Cleaned);
    all = told().cleaning;
    ASSERT_EQ(all.size(), 2u) << "M2 too";
    EXPECT_EQ(all[0].logged, 2u);
    ASSERT_EQ(all[0].overdue.size(), 2u);
    EXPECT_EQ(all[0].overdue[0].from, at("2026-05-11T08:00"));
    EXPECT_EQ(all[0].overdue[0].to, at("2026-05-20T08:00"));
    EXPECT_EQ(all[0].overdue[1].from, at("2026-05-27T08:00"));
    EXPECT_EQ(all[1].logged, 0u);
    EXPECT_EQ(all[1].overdue.size(), 1u);
}

TEST_F(MonthTold, AProficiencySampleNobodyReturnedHasFailed)
{
    acts::EqaReceived received { at("2026-05-04T08:00"), base::OperatorId("C1"), "S", "2026-1", "A", at("2026-05-10T12:00"),
        base::MeterId("M1"), {}, {} };
    const base::Seq seq = ward.facts.put(received);
    auto all = told("2026-05-09T12:00").proficiency;
    ASSERT_EQ(all.size(), 1u);
    EXPECT_EQ(all.front().judged.band, EqaBand::Waiting);
    all = told().proficiency;
    ASSERT_EQ(all.size(), 1u);
    EXPECT_EQ(all.front().judged.band, EqaBand::Missing);
    EXPECT_TRUE(all.front().judged.failed);
    EXPECT_EQ(all.front().evidence, std::vector { seq });
}

TEST_F(MonthTold, WhatWasStruckThroughAndCorrectedIsThere)
{
    ward.runSet("A", "90", "300");
    ward.record(acts::EntryCorrected {
        ward.facts.now, base::OperatorId("N1"), base::SetId("A"), Level::Low, "result", "90", "60", "Typed wrongly.", {} });
    const base::Seq run = ward.record(ward.run("B", Level::Low, "61"));
    ward.record(acts::EntryAnnulled {
        ward.facts.now, base::OperatorId("N1"), "entry", std::to_string(run.value), "Never run.", base::OperatorId("N2") });
    const MonthEvents events = told();
    ASSERT_EQ(events.corrected.size(), 1u);
    EXPECT_EQ(events.corrected.front().correction.act.newText, "60");
    EXPECT_EQ(events.corrected.front().meter, base::MeterId("M1"));
    EXPECT_FALSE(events.corrected.front().confirmed);
    ASSERT_EQ(events.annulled.size(), 1u);
    EXPECT_EQ(events.annulled.front().entry.seq, run);
    EXPECT_EQ(kindOf(events.annulled.front().entry.act), "control.run");
    EXPECT_EQ(events.annulled.front().annulment.act.reason, "Never run.");
    EXPECT_FALSE(events.annulled.front().unconfirmed);
}

TEST_F(MonthTold, WhatWasSaidOfALotIsThereWithWhoVerifiedIt)
{
    ward.goTo("2026-05-06T08:00");
    const base::Seq said = ward.facts.put(acts::LotEvent {
        ward.facts.now, "S2", base::OperatorId("C1"), LotEventKind::Released, {}, {}, "Central laboratory, sheet 14", {} });
    const auto lots = told().lots;
    ASSERT_EQ(lots.size(), 2u);
    EXPECT_EQ(lots.front().act.releasedElsewhere, std::nullopt) << "the ground's own release";
    EXPECT_EQ(lots.back().seq, said);
    EXPECT_EQ(lots.back().act.releasedElsewhere, "Central laboratory, sheet 14");
}

TEST_F(MonthTold, WhatWasStruckThroughByOnePersonAloneSaysSo)
{
    ward.facts.policy.secondPerson = false;
    ward.runSet("A", "60", "300");
    ward.goTo("2026-05-04T08:30");
    const base::Seq failed = ward.record(ward.run("B", Level::Low, "90"));
    ward.record(acts::EntryAnnulled { ward.facts.now, base::OperatorId("N1"), "entry", std::to_string(failed.value), "Never run.", {} });
    const MonthEvents events = told();
    ASSERT_EQ(events.annulled.size(), 1u);
    EXPECT_TRUE(events.annulled.front().unconfirmed);
}

TEST_F(MonthTold, AMetersLifeIsOneListInTheOrderOfItsTimes)
{
    compare("P1", "160", "100");
    ward.goTo("2026-05-05T08:00");
    compare("P2", "161", "100");
    ward.facts.put(acts::NoteAdded { at("2026-05-04T12:00"), base::OperatorId("N2"), base::MeterId("M1"), "Port looks soiled." });
    const MeterRecord meter = **ward.facts.meter(base::MeterId("M1"));
    const auto life = wholeLife(ward.facts, meter, at("2026-06-01T00:00"));
    ASSERT_TRUE(life) << life.error().text;
    EXPECT_TRUE(std::ranges::is_sorted(*life, {}, &LifeEvent::at));
    std::vector<std::string> kinds;
    for (const auto& event : *life) {
        kinds.emplace_back(word(event.what));
        EXPECT_FALSE(event.evidence.empty()) << kinds.back();
    }
    EXPECT_EQ(kinds.front(), "enrolled");
    const auto withdrawn = std::ranges::find(*life, LifeKind::Withdrawn, &LifeEvent::what);
    ASSERT_NE(withdrawn, life->end());
    EXPECT_EQ(withdrawn->code, "comparison-failed");
    EXPECT_EQ(std::ranges::count(kinds, "comparison"), 2);
    EXPECT_EQ(std::ranges::count(kinds, "note"), 1);
    EXPECT_EQ(std::ranges::count(kinds, "look-back-opened"), 1);
}

} // namespace
} // namespace mk::registry::sample
