// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

namespace mk::registry::sample {
namespace {

acts::NoticeIssued notice(const DeskWard& ward)
{
    acts::NoticeIssued act;
    act.at = ward.facts.now;
    act.by = base::OperatorId("C1");
    act.notice = "FSN-1";
    act.text = "Strips read high.";
    return act;
}

TEST(ANotice, IsTheCoordinatorsAndNamesSomething)
{
    DeskWard ward;
    EXPECT_EQ(ward.faultOf(notice(ward)), FaultKind::BadInput);
    acts::NoticeIssued act = notice(ward);
    act.lot = "S1";
    act.by = base::OperatorId("N1");
    EXPECT_EQ(ward.faultOf(act), FaultKind::Refused);
    act.by = base::OperatorId("C1");
    ward.record(act);
    EXPECT_EQ(ward.faultOf(act), FaultKind::Conflict);
}

TEST(ANotice, OnALotQuarantinesItAtOnce)
{
    DeskWard ward;
    acts::NoticeIssued act = notice(ward);
    act.lot = "S1";
    const base::Seq seq = ward.record(act);
    const auto event = ward.facts.all<acts::LotEvent>().back();
    EXPECT_EQ(event.act.what, LotEventKind::Quarantined);
    EXPECT_EQ(event.act.lot, "S1");
    EXPECT_TRUE(ward.facts.all<acts::VialEnded>().empty()) << "they are the lot's";
    const auto opened = ward.facts.all<acts::NcOpened>().back();
    EXPECT_EQ(opened.act.subject, "FSN-1");
    EXPECT_EQ(opened.act.because, seq);
    EXPECT_TRUE(ward.openStops().empty());
}

TEST(ANotice, OnSomeVialsOfALotQuarantinesJustThose)
{
    DeskWard ward;
    acts::NoticeIssued act = notice(ward);
    act.lot = "S1";
    act.vialFrom = act.vialTo = "V2";
    ward.record(act);
    const auto ended = ward.facts.all<acts::VialEnded>();
    ASSERT_EQ(ended.size(), 1U);
    EXPECT_EQ(ended.front().act.vial, "V2");
    EXPECT_EQ(ward.facts.all<acts::LotEvent>().size(), 1U) << "its release alone";
}

TEST(ANotice, OnAModelWithdrawsItsMetersUntilSomethingWasDone)
{
    DeskWard ward;
    acts::NoticeIssued act = notice(ward);
    act.model = base::ModelId("K1");
    ward.record(act);
    EXPECT_EQ(ward.openCauses("M1"), std::vector<std::string> { "field-notice" });
    EXPECT_EQ(ward.openCauses("M2"), std::vector<std::string> { "field-notice" });
    const acts::NoticeClosed closing { ward.facts.now, base::OperatorId("C1"), "FSN-1", "Answer sent." };
    EXPECT_EQ(ward.faultOf(closing), FaultKind::Refused);
    acts::NoticeItemDone done { ward.facts.now, base::OperatorId("N1"), "FSN-1", "M9", "Sent in.", {} };
    EXPECT_EQ(ward.faultOf(done), FaultKind::NotFound);
    for (const char* meter : { "M1", "M2" }) {
        done.item = meter;
        ward.record(done);
    }
    EXPECT_EQ(ward.faultOf(closing), std::nullopt);
}

TEST(ANotice, NamesASpanOfIdsOfOnePattern)
{
    DeskWard ward;
    ward.record(acts::MeterEnrolled { base::MeterId("M3"), base::ModelId("K1"), "K998", base::WardId("W1"), ward.facts.now, {} });
    acts::NoticeIssued act = notice(ward);
    act.serialFrom = "K1002";
    act.serialTo = "K998";
    EXPECT_EQ(ward.codeOf(act), "span-without-order");
    act.serialFrom = "K998";
    act.serialTo = "L1002";
    EXPECT_EQ(ward.codeOf(act), "span-without-order");
    act.serialFrom = "K998";
    act.serialTo = "K1002";
    ward.record(act);
    EXPECT_EQ(ward.openCauses("M3"), std::vector<std::string> { "field-notice" });
    EXPECT_TRUE(ward.openStops("M1").empty());
}

TEST(ANotice, ThatHitsNothingIsAskedAbout)
{
    DeskWard ward;
    acts::NoticeIssued act = notice(ward);
    act.serialFrom = act.serialTo = "Q7";
    EXPECT_EQ(ward.codeOf(act), "notice-misses-all");
    act.hitsNothing = YesNo::Yes;
    EXPECT_EQ(ward.codeOf(act), "");
}

TEST(ANotice, BarsTheAcceptanceOfAMeterEnrolledLater)
{
    DeskWard ward;
    acts::NoticeIssued act = notice(ward);
    act.serialFrom = act.serialTo = "Q7";
    act.hitsNothing = YesNo::Yes;
    ward.record(act);
    ward.record(
        acts::MeterEnrolled { base::MeterId("M3"), base::ModelId("K1"), "Q7", base::WardId("W1"), ward.facts.now, MeterState::Acceptance });
    const acts::MeterMoved accepted { ward.facts.now, base::MeterId("M3"), base::OperatorId("C1"), MeterState::InService, std::nullopt,
        "Accepted." };
    EXPECT_EQ(ward.codeOf(accepted), "meter-named-by-notice");
    ward.record(acts::NoticeItemDone { ward.facts.now, base::OperatorId("C1"), "FSN-1", "M3", "Looked at.", {} });
    EXPECT_NE(ward.codeOf(accepted), "meter-named-by-notice");
}

TEST(AnExcursion, QuarantinesWhatWasOpenOnTheWard)
{
    DeskWard ward;
    acts::ExcursionReported act;
    act.at = ward.facts.now;
    act.by = base::OperatorId("N1");
    act.from = base::plusMs(ward.facts.now, -3'600'000);
    act.to = base::plusMs(ward.facts.now, 60'000);
    act.ward = base::WardId("W1");
    EXPECT_EQ(ward.faultOf(act), FaultKind::BadInput) << "it has not ended";
    act.to = ward.facts.now;
    ward.record(act);
    EXPECT_EQ(ward.facts.all<acts::VialEnded>().size(), 5U);
    const acts::VialReleased release { ward.facts.now, "V1", base::OperatorId("N1"), "Logger was wrong." };
    EXPECT_EQ(ward.faultOf(release), FaultKind::Refused);
}

} // namespace
} // namespace mk::registry::sample
