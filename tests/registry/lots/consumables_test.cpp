// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/lots/consumables.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

acts::NoticeIssued noticeOf(const char* lot, const char* from, const char* to)
{
    acts::NoticeIssued notice;
    notice.lot = lot;
    if (from != nullptr)
        notice.vialFrom = from;
    if (to != nullptr)
        notice.vialTo = to;
    return notice;
}

TEST(Notice, ComparesVialsByTheNumberAtTheirEnd)
{
    const auto notice = noticeOf("S1", "100", "180");
    for (const char* hit : { "100", "V150", "S1-0180", "a9-100" })
        EXPECT_TRUE(hitsVial(notice, hit, "S1")) << hit;
    for (const char* miss : { "V99", "181", "V1500", "20", "V", "" })
        EXPECT_FALSE(hitsVial(notice, miss, "S1")) << miss;
    EXPECT_FALSE(hitsVial(notice, "V150", "S2")) << "another lot";
    EXPECT_FALSE(hitsWholeLot(notice, "S1"));
}

TEST(Notice, AskedForAPrefixTheVialMustHaveIt)
{
    const auto notice = noticeOf("S1", "S1-100", nullptr);
    EXPECT_TRUE(hitsVial(notice, "S1-7000", "S1"));
    EXPECT_FALSE(hitsVial(notice, "T1-150", "S1"));
    EXPECT_TRUE(hitsWholeLot(noticeOf("S1", nullptr, nullptr), "S1"));
    EXPECT_FALSE(hitsVial(noticeOf("S1", nullptr, nullptr), "S1-150", "S1")) << "the lot is hit as one";
}

TEST(Notice, ComparesSerialNumbersAsNumbersWhereAllAre)
{
    EXPECT_TRUE(liesBetween("100", "99", "1000"));
    EXPECT_FALSE(liesBetween("1001", "99", "1000"));
    EXPECT_TRUE(liesBetween("00100", "100", "100"));
    EXPECT_TRUE(liesBetween("99999999999999999999999", "99999999999999999999998", std::nullopt));
    EXPECT_TRUE(liesBetween("B5", "A9", "C")) << "as text";
    EXPECT_FALSE(liesBetween("D5", "A9", "C"));
}

TEST(Notice, AModelBesideALotNamesNoMeters)
{
    acts::MeterEnrolled meter { base::MeterId("M1"), base::ModelId("K1"), "17", base::WardId("W1"), {}, {} };
    auto notice = noticeOf("S1", nullptr, nullptr);
    notice.model = base::ModelId("K1");
    EXPECT_FALSE(hitsMeter(notice, meter, {}));
    notice.lot.reset();
    EXPECT_TRUE(hitsMeter(notice, meter, {}));
    notice.firmware = "2.1";
    EXPECT_FALSE(hitsMeter(notice, meter, {})) << "nobody knows its firmware";
    EXPECT_FALSE(hitsMeter(notice, meter, "2.0"));
    EXPECT_TRUE(hitsMeter(notice, meter, "2.1"));
    notice.serialFrom = "20";
    EXPECT_FALSE(hitsMeter(notice, meter, "2.1"));
    meter.serial.reset();
    EXPECT_FALSE(hitsMeter(notice, meter, "2.1"));
}

TEST(LotState, GoesFromReceivedToItsEnds)
{
    const Zone zone = Zone::utc();
    const base::Moment t0 { 1'780'000'000'000, 0 };
    const auto later = [&](int hours) { return base::Moment { t0.utcMs + hours * std::int64_t { 3'600'000 }, 0 }; };
    StripLotRecord lot { { 1 },
        { base::StripLotId("S1"), base::ModelId("K1"), {}, {}, base::parsePrintedDate("2030-12").value(), {}, t0, {} }, {} };
    EXPECT_EQ(lotStateAt(lot, {}, t0, zone), LotState::Received);
    EXPECT_EQ(lotStateAt(lot, { true, {}, false }, t0, zone), LotState::Verifying);
    const auto event = [&](int hours, LotEventKind what) {
        lot.events.push_back({ { 2 }, { later(hours), "S1", base::OperatorId("C1"), what, {} } });
    };
    event(1, LotEventKind::Released);
    EXPECT_EQ(lotStateAt(lot, { true, {}, false }, t0, zone), LotState::Verifying) << "not yet";
    EXPECT_EQ(lotStateAt(lot, { true, {}, false }, later(1), zone), LotState::Released);
    EXPECT_EQ(lotStateAt(lot, { true, 0, true }, later(1), zone), LotState::Released) << "one is still open";
    EXPECT_EQ(lotStateAt(lot, { true, 0, false }, later(1), zone), LotState::Exhausted);
    event(2, LotEventKind::Quarantined);
    EXPECT_EQ(lotStateAt(lot, { true, 0, false }, later(2), zone), LotState::Quarantined);
    event(3, LotEventKind::Rejected);
    EXPECT_EQ(lotStateAt(lot, {}, later(3), zone), LotState::Rejected);
    lot.events.clear();
    lot.lot.expiry = base::parsePrintedDate("2020-01").value();
    EXPECT_EQ(lotStateAt(lot, {}, t0, zone), LotState::Expired);
}

} // namespace
} // namespace mk::registry
