// SPDX-License-Identifier: GPL-3.0-or-later
#include "journeys/lot_hands.h"

#include "store/read/lot_records.h"

#include <gtest/gtest.h>

namespace mk::journeys {

using namespace registry;

TEST(Story, S30_TheWaysOfferedAreAnotherVialOrTheCoordinator)
{
    WardWorld ward;
    const base::Moment at = now(ward, "2026-05-20T10:00");
    const std::string refusal = recordBy(
        ward, "N1", acts::StripVialOpened { base::StripVialId("V1"), base::StripLotId("S1"), at, base::WardId("W1") });
    EXPECT_NE(refusal.find("was opened on Fri 1 May 2026"), std::string::npos) << refusal;
    EXPECT_NE(refusal.find("scan another vial"), std::string::npos) << refusal;
    EXPECT_NE(refusal.find("ask the coordinator to correct it"), std::string::npos) << refusal;
    EXPECT_EQ(ward.reader().stripVial(base::StripVialId("V1")).value()->vial.opened, ward.at("2026-05-01T05:00"));
}

TEST(Story, S31_AVialFoundOpenIsDiscardedOrQuarantinedAndNeverBackDatedByANurse)
{
    WardWorld ward;
    const base::Moment at = now(ward, "2026-05-04T06:50");
    const auto opened = [&](const std::string& vial, std::optional<base::Moment> when, std::optional<YesNo> found) {
        return acts::StripVialOpened { base::StripVialId(vial), base::StripLotId("S1"), when, base::WardId("W1"), found };
    };
    const std::string refusal = recordBy(ward, "N1", opened("V9", ward.at("2026-05-02T06:00"), {}));
    EXPECT_NE(refusal.find("discard or quarantine"), std::string::npos) << refusal;
    EXPECT_NE(refusal.find("ask the coordinator"), std::string::npos) << refusal;
    EXPECT_NE(recordBy(ward, "N1", opened("V9", ward.at("2026-05-02T06:00"), YesNo::Yes)), "") << "found open has no time of opening";
    EXPECT_NE(recordBy(ward, "N1", opened("V9", {}, {})), "");
    EXPECT_EQ(recordBy(ward, "N1", opened("V9", {}, YesNo::Yes)), "");
    const SetRecord set = ward.runSet("on-it", "2026-05-04T07:00", "60", "300", with("M1", "V9"));
    EXPECT_EQ(set.judged.verdict, Verdict::Invalid);
    EXPECT_EQ(set.runs.front().judged.invalidBecause, std::vector<std::string> { "strip-vial-expired" });
    EXPECT_FALSE(ward.fitness("2026-05-04T07:05").usable);
    EXPECT_NE(recordBy(ward, "N1", opened("V9", at, {})), "") << "no second opening mends it";
    EXPECT_EQ(
        recordBy(ward, "N1", acts::VialEnded { ward.at("2026-05-04T07:02"), "V9", base::OperatorId("N1"), VialEndKind::Discarded }), "");
    // Within the quarter of an hour a nurse may say so herself, and the coordinator may at any time.
    EXPECT_EQ(recordBy(ward, "N1", opened("V10", ward.at("2026-05-04T06:55"), {})), "");
    EXPECT_EQ(recordBy(ward, "C1", opened("V11", ward.at("2026-05-02T06:00"), {})), "");
}

acts::NoticeIssued vialNotice(base::Moment at)
{
    acts::NoticeIssued notice;
    notice.at = at;
    notice.by = base::OperatorId("C1");
    notice.notice = "FSN-7";
    notice.text = "strips of these vials may read high";
    notice.lot = "S1";
    notice.vialFrom = "100";
    notice.vialTo = "180";
    return notice;
}

TEST(Story, S37_ARecallQuarantinesItsVialsAndTakesTheClearanceThatRestsOnThemAlone)
{
    WardWorld ward;
    const base::Moment start = now(ward, "2026-05-04T05:00");
    for (const char* meter : { "M2", "M3" })
        addMeterTo(ward, meter, start);
    acts::ShipmentReceived shipment { start, base::OperatorId("N1"), "S1", "D-1", decimal("100"), "good", "green", "cupboard" };
    EXPECT_EQ(recordBy(ward, "N1", shipment), "");
    openVial(ward, "V99", "S1", start);
    openVial(ward, "V150", "S1", start);
    ward.runSet("m1", "2026-05-04T06:00", "60", "300", with("M1", "V150"));
    ward.runSet("m2", "2026-05-04T06:10", "60", "300", with("M2", "V99"));
    ward.runSet("m3-a", "2026-05-04T06:20", "60", "300", with("M3", "V99"));
    ward.runSet("m3-b", "2026-05-04T06:30", "60", "300", with("M3", "V150"));
    ASSERT_TRUE(ward.fitness("2026-05-04T07:59").usable);

    auto notice = vialNotice(now(ward, "2026-05-04T08:00"));
    notice.by = base::OperatorId("N1");
    EXPECT_NE(recordBy(ward, "N1", notice), "") << "the coordinator records notices";
    notice.by = base::OperatorId("C1");
    EXPECT_EQ(recordBy(ward, "C1", notice), "");
    EXPECT_EQ(ward.entriesOf("vial.ended").size(), 1U) << "V150; V1 and V99 lie outside";
    EXPECT_EQ(ward.entriesOf("vial.ended").back().subject, "V150");

    const Fitness m1 = ward.fitness("2026-05-04T08:01");
    EXPECT_FALSE(m1.usable);
    ASSERT_TRUE(reason(m1, "lot-quarantined")) << codes(m1);
    EXPECT_NE(said(m1, "lot-quarantined").find("V150"), std::string::npos);
    EXPECT_TRUE(ward.fitness("2026-05-04T08:01", "M2").usable);
    EXPECT_TRUE(ward.fitness("2026-05-04T08:01", "M3").usable)
        << "its set on V99 is in time: " << codes(ward.fitness("2026-05-04T08:01", "M3"));
    // Past verdicts are kept, and what was known then stays.
    EXPECT_EQ(ward.set("m1").judged.verdict, Verdict::Accepted);
    EXPECT_TRUE(ward.entriesOf("verdict.revised").empty());
    EXPECT_TRUE(ward.fitness("2026-05-04T07:59").usable);
    EXPECT_TRUE(ward.asKnownThen("2026-05-04T07:59")->usable);
    EXPECT_FALSE(ward.fitness("2026-05-05T06:25", "M3").usable) << "the set on V99 ran out, the one on V150 clears nothing";

    // The answers within the minute.
    auto reader = ward.reader();
    const auto hits = registry::hitsOf(reader, notice, ward.at("2026-05-04T08:01")).value();
    ASSERT_EQ(hits.vials.size(), 1U);
    EXPECT_EQ(hits.vials[0].state, VialState::Quarantined);
    EXPECT_EQ(hits.vials[0].ward, base::WardId("W1"));
    const auto runs = store::runsOfVial(reader, "V150").value();
    EXPECT_EQ(runs.size(), 4U);
    EXPECT_EQ(store::clearedOnlyBy(reader, runs, ward.at("2026-05-04T08:01")).value(), std::vector { base::MeterId("M1") });
    EXPECT_EQ(registry::traceLot(reader, "S1", ward.at("2026-05-04T08:01"))->unopened, 97) << "100 came, three were opened";

    // Unopened ones stay closed while the notice is open.
    const auto opening = [&](const std::string& vial) {
        return acts::StripVialOpened { base::StripVialId(vial), base::StripLotId("S1"), ward.at("2026-05-04T08:10"), base::WardId("W1") };
    };
    ward.goTo("2026-05-04T08:10");
    EXPECT_NE(recordBy(ward, "N1", opening("V160")).find("FSN-7"), std::string::npos);
    EXPECT_EQ(recordBy(ward, "N1", opening("V181")), "");
    const base::OperatorId c1("C1");
    EXPECT_NE(recordBy(ward, "C1", acts::VialReleased { ward.at("2026-05-04T08:10"), "V150", c1, "looks fine" }), "")
        << "not while the notice is open";
    EXPECT_NE(
        recordBy(ward, "C1", acts::NoticeClosed { ward.at("2026-05-04T08:10"), c1, "FSN-7", "letter 12" }).find("V150"), std::string::npos);
    EXPECT_NE(
        recordBy(ward, "N1", acts::NoticeItemDone { ward.at("2026-05-04T08:10"), base::OperatorId("N1"), "FSN-7", "V99", "sent back" }), "")
        << "not hit";
    EXPECT_EQ(recordBy(ward, "N1",
                  acts::NoticeItemDone { ward.at("2026-05-04T08:10"), base::OperatorId("N1"), "FSN-7", "V150", "sent back", "slip 3" }),
        "");
    EXPECT_EQ(recordBy(ward, "C1", acts::NoticeClosed { ward.at("2026-05-04T08:10"), c1, "FSN-7", "letter 12" }), "");
    EXPECT_EQ(recordBy(ward, "N1", opening("V160")), "");

    ward.runSet("m1-again", "2026-05-04T08:20", "60", "300", with("M1", "V99"));
    EXPECT_TRUE(ward.fitness("2026-05-04T08:25").usable) << codes(ward.fitness("2026-05-04T08:25"));
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, S37_ARecallOfAWholeLotQuarantinesTheLot)
{
    WardWorld ward;
    ward.runSet("m1", "2026-05-04T06:00", "60", "300");
    auto notice = vialNotice(now(ward, "2026-05-04T08:00"));
    notice.vialFrom.reset();
    notice.vialTo.reset();
    EXPECT_EQ(recordBy(ward, "C1", notice), "");
    EXPECT_EQ(ward.entriesOf("lot.event").size(), 1U);
    EXPECT_TRUE(ward.entriesOf("vial.ended").empty());
    EXPECT_TRUE(reason(ward.fitness("2026-05-04T08:01"), "lot-quarantined"));
    EXPECT_TRUE(ward.fitness("2026-05-04T07:59").usable);
    EXPECT_EQ(ward.set("m1").judged.verdict, Verdict::Accepted);
    auto reader = ward.reader();
    EXPECT_EQ(registry::traceLot(reader, "S1", ward.at("2026-05-04T08:01"))->state, LotState::Quarantined);
    // Released again: the coordinator only, with a reason.
    const auto again = [&](const char* person, std::optional<std::string> why) {
        return recordBy(
            ward, person, acts::LotEvent { ward.at("2026-05-04T08:30"), "S1", base::OperatorId(person), LotEventKind::Released, why });
    };
    ward.goTo("2026-05-04T08:30");
    EXPECT_NE(again("N1", "fine"), "");
    EXPECT_NE(again("C1", {}), "");
    EXPECT_EQ(again("C1", "maker withdrew the notice"), "");
    EXPECT_TRUE(ward.fitness("2026-05-04T08:31").usable) << codes(ward.fitness("2026-05-04T08:31"));
}

TEST(Notice, StopsMetersBySerialNumberAndFirmwareUntilSomethingWasDone)
{
    WardWorld ward;
    const base::Moment start = now(ward, "2026-05-04T05:00");
    for (const auto& [meter, serial] : { std::pair("M2", "99"), std::pair("M3", "100"), std::pair("M4", "1000") })
        ward.record(
            acts::MeterEnrolled { base::MeterId(meter), base::ModelId("K1"), serial, base::WardId("W1"), start, MeterState::InService });
    ward.record(acts::MeterDescribed { start, base::MeterId("M3"), base::OperatorId("C1"), {}, {}, "2.1" });
    auto notice = vialNotice(now(ward, "2026-05-04T08:00"));
    notice.lot.reset();
    notice.vialFrom = notice.vialTo = std::nullopt;
    notice.serialFrom = "90";
    notice.serialTo = "500";
    notice.firmware = "2.1";
    EXPECT_EQ(recordBy(ward, "C1", notice), "");
    EXPECT_EQ(ward.entriesOf("meter.withdrawn").size(), 1U) << "99 has no such firmware, 1000 lies beyond 500";
    const Fitness m3 = ward.fitness("2026-05-04T08:01", "M3");
    EXPECT_EQ(m3.state, MeterState::Withdrawn);
    EXPECT_TRUE(reason(m3, "field-notice")) << codes(m3);
    EXPECT_FALSE(reason(ward.fitness("2026-05-04T08:01", "M4"), "field-notice"));
    ward.runSet("a", "2026-05-04T09:00", "60", "300", with("M3", "V1"));
    ward.runSet("b", "2026-05-04T09:10", "60", "300", with("M3", "V1"));
    const acts::ReturnStep sign { now(ward, "2026-05-04T10:00"), base::MeterId("M3"), base::OperatorId("C1"), ReturnStepKind::Signed, {} };
    EXPECT_NE(recordBy(ward, "C1", sign).find("FSN-7"), std::string::npos) << recordBy(ward, "C1", sign);
}

TEST(Story, S38_AnExcursionQuarantinesTheVialsAndListsTheRunsInIt)
{
    WardWorld ward;
    ward.runSet("before", "2026-05-09T07:00", "60", "300");
    ward.runSet("inside", "2026-05-10T07:00", "60", "300");
    acts::ExcursionReported excursion;
    excursion.at = now(ward, "2026-05-10T18:30");
    excursion.by = base::OperatorId("N1");
    excursion.from = ward.at("2026-05-09T10:00");
    excursion.to = ward.at("2026-05-10T18:00");
    excursion.ward = base::WardId("W1");
    excursion.place = "cupboard";
    excursion.highest = "41 C";
    EXPECT_EQ(recordBy(ward, "N1", excursion), "");
    EXPECT_EQ(ward.entriesOf("vial.ended").size(), 3U) << "V1, L1 and H1 were open";
    auto reader = ward.reader();
    const auto runs = store::runsInExcursion(reader, excursion).value();
    ASSERT_EQ(runs.size(), 2U);
    EXPECT_EQ(runs[0].set, base::SetId("inside"));
    EXPECT_EQ(ward.set("inside").judged.verdict, Verdict::Accepted) << "what was judged stays judged";
    const SetRecord meanwhile = ward.runSet("meanwhile", "2026-05-10T19:00", "60", "300");
    EXPECT_EQ(meanwhile.judged.verdict, Verdict::Invalid);

    const auto release = [&](const char* vial, const char* person) {
        return recordBy(ward, person,
            acts::VialReleased { ward.at("2026-05-10T20:00"), vial, base::OperatorId(person), "logger showed 8 minutes only" });
    };
    ward.goTo("2026-05-10T20:00");
    EXPECT_NE(release("V1", "N1").find("only the coordinator"), std::string::npos);
    for (const char* vial : { "V1", "L1" })
        EXPECT_EQ(release(vial, "C1"), "");
    // H1 is not let go: thrown away, which is possible after a quarantine, and final.
    EXPECT_EQ(
        recordBy(ward, "N1", acts::VialEnded { ward.at("2026-05-10T20:00"), "H1", base::OperatorId("N1"), VialEndKind::Discarded }), "");
    EXPECT_NE(release("H1", "C1"), "");
    ward.record(
        acts::ControlVialOpened { base::ControlVialId("H2"), base::ControlLotId("CH"), ward.at("2026-05-10T20:00"), base::WardId("W1") });
    Setting newHigh;
    newHigh.high = "H2";
    EXPECT_EQ(ward.runSet("after", "2026-05-10T20:10", "60", "300", newHigh).judged.verdict, Verdict::Accepted);
    EXPECT_TRUE(ward.fitness("2026-05-10T20:15").usable) << codes(ward.fitness("2026-05-10T20:15"));

    // Judged again for another reason, the run made in quarantine stays invalid.
    acts::EntryCorrected correction { ward.at("2026-05-10T20:12"), base::OperatorId("N1"), base::SetId("meanwhile"), Level::Low, "comment",
        "", "door was open", "left out" };
    ward.record(correction);
    EXPECT_EQ(ward.set("meanwhile").judged.verdict, Verdict::Invalid);
    EXPECT_EQ(ward.set("inside").judged.verdict, Verdict::Accepted);
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Lots, ANewLotIsReleasedByTheCoordinatorOnItsEvidenceOnly)
{
    WardWorld ward;
    const base::Moment at = now(ward, "2026-05-04T06:00");
    const base::OperatorId n1("N1"), n2("N2"), c1("C1");
    for (const char* meter : { "M2", "M3" })
        addMeterTo(ward, meter, at);
    EXPECT_EQ(recordBy(ward, "N1", newLot("S2", at)), "");
    EXPECT_NE(recordBy(ward, "N1", acts::ShipmentReceived { at, n1, "S3", "D-1" }).find("no lot is called 'S3'"), std::string::npos);
    EXPECT_EQ(recordBy(ward, "N1", acts::ShipmentReceived { at, n1, "S2", "D-1", decimal("10") }), "");
    EXPECT_NE(recordBy(ward, "N1", acts::ShipmentReceived { at, n1, "S2", "D-1", decimal("10") }), "") << "the same delivery twice";
    EXPECT_EQ(recordBy(ward, "N1", acts::ShipmentReceived { at, n1, "S2", "D-2", decimal("5") }), "")
        << "a second one is a receipt of its own";
    const auto state = [&] {
        auto reader = ward.reader();
        return registry::traceLot(reader, "S2", at)->state;
    };
    EXPECT_EQ(state(), LotState::Received);
    const auto release = [&](const char* person, std::optional<std::string> noSamples = {}) {
        return recordBy(ward, person, acts::LotEvent { at, "S2", base::OperatorId(person), LotEventKind::Released, {}, noSamples });
    };
    EXPECT_NE(release("N1").find("only the coordinator"), std::string::npos);
    const std::string nothing = release("C1");
    for (const char* part : { "no low range", "no high range", "0 of 3 meters", "0 of 5 blood samples" })
        EXPECT_NE(nothing.find(part), std::string::npos) << part << " in " << nothing;

    EXPECT_EQ(recordBy(ward, "N1", rangeOn("S2", Level::Low, "48", "72", at)), "");
    EXPECT_EQ(recordBy(ward, "N1", rangeOn("S2", Level::High, "270", "366", at)), "");
    const auto confirm = [&](const char* person, Level level, const char* low, const char* high) {
        return recordBy(ward, person,
            acts::RangeConfirmed { at, base::OperatorId(person), base::StripLotId("S2"),
                base::ControlLotId(level == Level::Low ? "CL" : "CH"), level, decimal(low), decimal(high) });
    };
    EXPECT_NE(confirm("N1", Level::Low, "48", "72").find("second person"), std::string::npos);
    const std::string differs = confirm("N2", Level::Low, "48", "73");
    EXPECT_NE(differs.find("48 to 72"), std::string::npos) << differs;
    EXPECT_NE(differs.find("48 to 73"), std::string::npos) << differs;
    EXPECT_EQ(confirm("N2", Level::Low, "48.0", "72"), "") << "the same number, written otherwise";
    EXPECT_EQ(state(), LotState::Verifying);
    EXPECT_NE(release("C1").find("no high range was typed again"), std::string::npos);
    EXPECT_EQ(confirm("N2", Level::High, "270", "366"), "");
    const auto check = [&](const char* meter, Level level, const char* result) {
        return recordBy(ward, "N1",
            acts::LotControlChecked { at, n1, base::StripLotId("S2"), base::MeterId(meter), level,
                base::ControlVialId(level == Level::Low ? "L1" : "H1"), parseReading(result).value(), kMg });
    };
    for (const char* meter : { "M1", "M2", "M3" })
        for (int i = 0; i < 2; ++i) {
            EXPECT_EQ(check(meter, Level::Low, "60"), "");
            EXPECT_EQ(check(meter, Level::High, "318"), "");
        }
    EXPECT_TRUE(reason(ward.fitness("2026-05-04T06:01"), "no-control-yet")) << "they clear no meter";
    EXPECT_EQ(release("C1").find("control was inside"), std::string::npos) << release("C1");
    const auto sample = [&](const char* key, const char* current, const char* candidate) {
        return recordBy(ward, "N2",
            acts::LotSampleCompared { at, n2, base::StripLotId("S2"), base::StripLotId("S1"), base::MeterId("M1"), key, decimal(current),
                decimal(candidate), kMg });
    };
    for (const char* key : { "b1", "b2", "b3", "b4" })
        EXPECT_EQ(sample(key, "100", "106"), "");
    EXPECT_NE(release("C1").find("4 of 5 blood samples"), std::string::npos);
    EXPECT_EQ(sample("b5", "100", "112"), "");
    EXPECT_EQ(release("C1"), "");
    EXPECT_EQ(state(), LotState::Released);
    EXPECT_EQ(recordBy(ward, "N1", acts::StripVialOpened { base::StripVialId("V2"), base::StripLotId("S2"), at, base::WardId("W1") }), "");
    EXPECT_NE(check("M1", Level::Low, "60"), "") << "a released lot is controlled on the meter";
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Lots, AStatedReasonStandsForSamplesAndAnOutlierForNothing)
{
    WardWorld ward;
    const base::Moment at = now(ward, "2026-05-04T06:00");
    EXPECT_EQ(recordBy(ward, "N1", newLot("S2", at)), "");
    EXPECT_EQ(recordBy(ward, "N1",
                  acts::LotSampleCompared { at, base::OperatorId("N1"), base::StripLotId("S2"), base::StripLotId("S1"), base::MeterId("M1"),
                      "b1", decimal("100"), decimal("113"), kMg }),
        "");
    const std::string refusal = recordBy(
        ward, "C1", acts::LotEvent { at, "S2", base::OperatorId("C1"), LotEventKind::Released, {}, "no blood to be had" });
    EXPECT_NE(refusal.find("sample b1 read 113"), std::string::npos) << refusal;
    EXPECT_EQ(refusal.find("blood samples were compared"), std::string::npos) << refusal;
}

TEST(Lots, RangesAreNeverCarriedOverFromAnotherLot)
{
    WardWorld ward;
    const base::Moment at = now(ward, "2026-05-04T06:00");
    auto lot = newLot("S2", at);
    lot.released = at;
    ward.record(lot);
    openVial(ward, "V2", "S2", at);
    const SetRecord set = ward.runSet("new-lot", "2026-05-04T07:00", "60", "300", with("M1", "V2"));
    EXPECT_EQ(set.judged.verdict, Verdict::Invalid);
    for (const auto& run : set.runs) {
        EXPECT_EQ(run.judged.invalidBecause, std::vector<std::string> { "range-missing" });
        EXPECT_FALSE(run.judged.low);
    }
}

TEST(Lots, StripsOfAnotherModelMakeARunInvalid)
{
    WardWorld ward;
    const base::Moment at = now(ward, "2026-05-04T06:00");
    ward.record(acts::ModelAdded { base::ModelId("K2"), kMg, decimal("20"), decimal("600"), {}, {}, YesNo::No, YesNo::Yes, {} });
    auto lot = newLot("T1", at);
    lot.model = base::ModelId("K2");
    lot.released = at;
    ward.record(lot);
    ward.record(rangeOn("T1", Level::Low, "48", "72", at));
    ward.record(rangeOn("T1", Level::High, "255", "345", at));
    openVial(ward, "T1-1", "T1", at);
    const SetRecord set = ward.runSet("wrong-strips", "2026-05-04T07:00", "60", "300", with("M1", "T1-1"));
    EXPECT_EQ(set.judged.verdict, Verdict::Invalid);
    EXPECT_EQ(set.runs.front().judged.invalidBecause, std::vector<std::string> { "model-mismatch" });
}

} // namespace mk::journeys
