// SPDX-License-Identifier: GPL-3.0-or-later
// Vectors of handbook 2.4, "Test vectors [calc]"; those of a GS1 code belong to its parser, their days are tested here as printed dates.
#include "registry/lots/expiry.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::at;
using sample::berlin;
using sample::Materials;

std::optional<EffectiveExpiry> expiryOf(const std::string& printed, const std::string& opened, const std::string& period)
{
    return effectiveExpiry(base::parsePrintedDate(printed).value(), at(opened), base::parsePeriod(period).value(), berlin());
}

struct OpenedVector {
    const char *opened, *period, *lastDay;
};
void PrintTo(const OpenedVector& vector, std::ostream* out)
{
    *out << vector.opened << " and " << vector.period;
}

class OpenedPeriod : public ::testing::TestWithParam<OpenedVector> { };

} // namespace

TEST_P(OpenedPeriod, EndsOnTheHandbooksDay)
{
    const auto expiry = expiryOf("2099-12-31", GetParam().opened, GetParam().period);
    ASSERT_TRUE(expiry);
    EXPECT_EQ(base::toText(expiry->lastDay), GetParam().lastDay);
    EXPECT_TRUE(expiry->openedWins);
}

INSTANTIATE_TEST_SUITE_P(Handbook24, OpenedPeriod,
    ::testing::Values(OpenedVector { "2027-12-01", "90 d", "2028-02-29" }, OpenedVector { "2027-12-02", "90 d", "2028-03-01" },
        OpenedVector { "2026-08-31", "180 d", "2027-02-27" }, OpenedVector { "2026-08-31", "6 m", "2027-02-28" },
        OpenedVector { "2027-11-30", "3 m", "2028-02-29" }, OpenedVector { "2028-02-29", "90 d", "2028-05-29" }));

TEST(EffectiveExpiry, PrintedWins)
{
    const auto expiry = expiryOf("2026-04-30", "2026-04-01", "90 d");
    ASSERT_TRUE(expiry);
    EXPECT_EQ(base::toText(expiry->lastDay), "2026-04-30");
    EXPECT_FALSE(expiry->openedWins);
}

TEST(EffectiveExpiry, OpenedWins)
{
    const auto expiry = expiryOf("2026-12-31", "2026-04-01", "90 d");
    ASSERT_TRUE(expiry);
    EXPECT_EQ(base::toText(expiry->lastDay), "2026-06-30");
    EXPECT_TRUE(expiry->openedWins);
}

TEST(EffectiveExpiry, AMonthAloneMeansItsLastDay)
{
    EXPECT_EQ(base::toText(expiryOf("2026-04", "2026-04-01", "90 d")->lastDay), "2026-04-30");
    EXPECT_EQ(base::toText(expiryOf("2028-02", "2028-01-01", "90 d")->lastDay), "2028-02-29");
    EXPECT_EQ(base::toText(expiryOf("2026-02", "2026-01-01", "90 d")->lastDay), "2026-02-28");
    EXPECT_FALSE(base::parsePrintedDate("2021-00")) << "month 00 is invalid";
}

TEST(EffectiveExpiry, ThreeMonthsAreNotNinetyDays)
{
    EXPECT_EQ(base::toText(expiryOf("2099-12", "2027-12-01", "3 m")->lastDay), "2028-03-01");
    EXPECT_EQ(base::toText(expiryOf("2099-12", "2027-12-01", "90 d")->lastDay), "2028-02-29");
}

TEST(EffectiveExpiry, TheOpeningDayIsThatOfTheWard)
{
    // 23:30 local of 1 December is 22:30Z, 00:30 local of 2 December is 23:30Z of 1 December.
    EXPECT_EQ(base::toText(expiryOf("2099-12", "2027-12-01T23:30", "90 d")->lastDay), "2028-02-29");
    EXPECT_EQ(base::toText(expiryOf("2099-12", "2027-12-02T00:30", "90 d")->lastDay), "2028-03-01");
}

TEST(EffectiveExpiry, IsUnknownWhereAFactIsMissing)
{
    const auto printed = base::parsePrintedDate("2026-12-31").value();
    const auto period = base::parsePeriod("90 d").value();
    const base::Moment opened = at("2026-04-01");
    EXPECT_TRUE(effectiveExpiry(printed, opened, period, berlin()));
    EXPECT_FALSE(effectiveExpiry({}, opened, period, berlin()));
    EXPECT_FALSE(effectiveExpiry(printed, {}, period, berlin()));
    EXPECT_FALSE(effectiveExpiry(printed, opened, {}, berlin()));
}

TEST(StripVial, IsGoodToTheEndOfItsLastDayInWardTime)
{
    Materials m; // opened 1 May, 90 d: last day 30 July
    EXPECT_TRUE(againstStripVial(&m.stripVial, &m.stripLot, at("2026-07-30T23:59:59"), berlin()).empty());
    EXPECT_EQ(againstStripVial(&m.stripVial, &m.stripLot, at("2026-07-31T00:00"), berlin()), std::vector { ReasonCode::StripVialExpired });
}

TEST(StripVial, OfAnExpiredLot)
{
    Materials m;
    m.stripLot.lot.expiry = base::parsePrintedDate("2026-05").value();
    EXPECT_TRUE(againstStripVial(&m.stripVial, &m.stripLot, at("2026-05-31T23:59"), berlin()).empty())
        << "the printed date itself is usable";
    EXPECT_EQ(againstStripVial(&m.stripVial, &m.stripLot, at("2026-06-01T00:00"), berlin()), std::vector { ReasonCode::StripExpired });
}

TEST(StripVial, BeforeItsLotWasReleased)
{
    Materials m;
    m.stripLot.lot.released = at("2026-05-10T10:00");
    EXPECT_EQ(againstStripVial(&m.stripVial, &m.stripLot, at("2026-05-10T09:59"), berlin()), std::vector { ReasonCode::LotNotReleased });
    EXPECT_TRUE(againstStripVial(&m.stripVial, &m.stripLot, at("2026-05-10T10:00"), berlin()).empty());
}

TEST(StripVial, OfAQuarantinedLotUntilItIsReleasedAgain)
{
    Materials m;
    m.stripLot.events.push_back({ { 30 }, { at("2026-05-11T08:00"), "S1", base::OperatorId("C1"), LotEventKind::Quarantined, {} } });
    m.stripLot.events.push_back({ { 31 }, { at("2026-05-12T08:00"), "S1", base::OperatorId("C1"), LotEventKind::Released, {} } });
    EXPECT_TRUE(againstStripVial(&m.stripVial, &m.stripLot, at("2026-05-11T07:59"), berlin()).empty());
    EXPECT_EQ(againstStripVial(&m.stripVial, &m.stripLot, at("2026-05-11T08:00"), berlin()), std::vector { ReasonCode::LotQuarantined });
    EXPECT_TRUE(againstStripVial(&m.stripVial, &m.stripLot, at("2026-05-12T08:00"), berlin()).empty());
}

TEST(StripVial, ThatWasEndedIsNoVial)
{
    Materials m;
    m.stripVial.ended = { { 32 }, { at("2026-05-11T08:00"), "V1", base::OperatorId("N1"), VialEndKind::Empty } };
    EXPECT_TRUE(againstStripVial(&m.stripVial, &m.stripLot, at("2026-05-11T07:59"), berlin()).empty());
    EXPECT_EQ(againstStripVial(&m.stripVial, &m.stripLot, at("2026-05-11T08:00"), berlin()), std::vector { ReasonCode::NoStripVial });
    EXPECT_EQ(againstStripVial(nullptr, nullptr, at("2026-05-11T08:00"), berlin()), std::vector { ReasonCode::NoStripVial });
}

TEST(ControlVial, NeedsNoReleaseButRespectsAQuarantine)
{
    Materials m;
    EXPECT_TRUE(againstControlVial(&m.lowVial, &m.lowLot, at("2026-05-11T08:00"), berlin()).empty());
    m.lowLot.events.push_back({ { 33 }, { at("2026-05-11T08:00"), "CL", base::OperatorId("C1"), LotEventKind::Rejected, {} } });
    EXPECT_EQ(againstControlVial(&m.lowVial, &m.lowLot, at("2026-05-11T08:00"), berlin()), std::vector { ReasonCode::LotQuarantined });
}

TEST(ControlVial, Expires)
{
    Materials m;
    EXPECT_EQ(againstControlVial(&m.lowVial, &m.lowLot, at("2026-07-31T00:00"), berlin()), std::vector { ReasonCode::ControlVialExpired });
    m.lowLot.lot.expiry = base::parsePrintedDate("2026-05-31").value();
    EXPECT_EQ(againstControlVial(&m.lowVial, &m.lowLot, at("2026-06-01T00:00"), berlin()), std::vector { ReasonCode::ControlExpired });
}

} // namespace mk::registry
