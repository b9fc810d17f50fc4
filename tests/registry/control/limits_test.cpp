// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/limits.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

LimitResult resultOn(int day, const std::string& reading, bool valid = true)
{
    return { { 1'780'000'000'000 + day * std::int64_t { 86'400'000 }, 0 }, base::MeterId("M1"), parseReading(reading).value(), valid,
        valid ? std::vector<std::string> {} : std::vector<std::string> { "strip-expired" } };
}

LimitProposal about()
{
    LimitProposal proposal { base::StripLotId("S2"), base::ControlLotId("CL"), Level::Low };
    acts::RangeAssigned range;
    range.low = base::Decimal::parse("4.5").value();
    range.high = base::Decimal::parse("6.5").value();
    range.unit = base::GlucoseUnit::MmolPerL;
    proposal.inForce = RangeRecord { { 9 }, range };
    return proposal;
}

FormerLimits former()
{
    return { base::StripLotId("S1"), base::ControlLotId("CL"), base::Decimal::parse("6").value(), base::Decimal::parse("0.3").value() };
}

// The vector of handbook 6.1: mean 5.56, SD 0.1265.
const char* const kVector[] = { "5.4", "5.5", "5.7", "5.6", "5.4", "5.5", "5.6", "5.8", "5.5", "5.6" };

TEST(LimitProposal, NeedsTenRunsOnTenDaysForInterimLimits)
{
    std::vector<LimitResult> results;
    for (int i = 0; i < 12; ++i)
        results.push_back(resultOn(i / 2, kVector[i % 10]));
    auto early = about();
    early.former = former();
    early = proposeLimits(early, results, Zone::utc());
    EXPECT_EQ(early.stage, Stage::Range) << "twelve runs, and six days only";
    EXPECT_EQ(early.missingRuns, 0U);
    EXPECT_EQ(early.missingDays, 4U);
    EXPECT_FALSE(acceptanceOf(early, {}, "why"));
    EXPECT_NE(early.note.value().text.find("12 results on 6 days"), std::string::npos);
}

TEST(LimitProposal, CarriesTheFormerLotsCvWhileInterim)
{
    std::vector<LimitResult> results;
    for (int i = 0; i < 10; ++i)
        results.push_back(resultOn(i, kVector[i]));
    const auto alone = proposeLimits(about(), results, Zone::utc());
    EXPECT_EQ(alone.stage, Stage::Interim);
    EXPECT_FALSE(alone.acceptable()) << "no former lot lends a CV";
    auto with = about();
    with.former = former();
    with = proposeLimits(with, results, Zone::utc());
    EXPECT_NEAR(*with.mean, 5.56, 1e-12);
    EXPECT_NEAR(*with.sd, 0.05 * 5.56, 1e-12);
    EXPECT_EQ(with.meanTyped->typed(), "5.56");
    EXPECT_EQ(with.sdTyped->typed(), "0.278");
    EXPECT_EQ(with.missingRuns, 10U);
}

TEST(LimitProposal, SaysWhatTheSameResultsAreUnderEitherTarget)
{
    std::vector<LimitResult> results;
    for (int i = 0; i < 20; ++i)
        results.push_back(resultOn(i, kVector[i % 10]));
    results.push_back(resultOn(20, "9.9"));
    EXPECT_EQ(proposeLimits(about(), results, Zone::utc()).beyondInForce, std::nullopt) << "the range alone is in force";
    auto narrow = about();
    narrow.inForce->act.mean = base::Decimal::parse("5").value();
    narrow.inForce->act.sd = base::Decimal::parse("0.1").value();
    const auto proposal = proposeLimits(narrow, results, Zone::utc());
    EXPECT_EQ(proposal.beyondInForce, 21U);
    EXPECT_EQ(proposal.beyondProposed, 1U);
}

TEST(LimitProposal, EstablishedLimitsAreOfTheResultsThemselvesAndCountWhatIsOutOfLimits)
{
    std::vector<LimitResult> results;
    for (int i = 0; i < 20; ++i)
        results.push_back(resultOn(i, kVector[i % 10]));
    results.push_back(resultOn(20, "9.9")); // far out of its range, valid all the same
    results.push_back(resultOn(21, "5.5", false));
    results.push_back(resultOn(22, "HI"));
    results.push_back(resultOn(23, "ERR:E-3"));
    const auto proposal = proposeLimits(about(), results, Zone::utc());
    EXPECT_EQ(proposal.stage, Stage::Established);
    EXPECT_EQ(proposal.runs, 21U);
    EXPECT_EQ(proposal.excludedCount(), 3U);
    EXPECT_EQ(proposal.excluded.at("strip-expired"), 1U);
    EXPECT_EQ(proposal.excluded.at("HI"), 1U);
    EXPECT_EQ(proposal.excluded.at("error-code"), 1U);
    EXPECT_GT(*proposal.sd, 0.9);
    const auto act = acceptanceOf(proposal, { 5, 0 }, "ready");
    ASSERT_TRUE(act);
    EXPECT_EQ(act->low.typed(), "4.5") << "the range stays that of the label";
    EXPECT_EQ(act->stage, Stage::Established);
    EXPECT_EQ(act->reason, "ready");
}

TEST(LimitProposal, EqualReadingsGiveNoLimitsAndFineOnesAWarning)
{
    std::vector<LimitResult> equal, fine;
    for (int i = 0; i < 20; ++i) {
        equal.push_back(resultOn(i, "5.5"));
        fine.push_back(resultOn(i, i == 0 ? "5.6" : "5.5"));
    }
    const auto none = proposeLimits(about(), equal, Zone::utc());
    EXPECT_FALSE(none.acceptable());
    EXPECT_NE(none.note.value().text.find("do not vary"), std::string::npos) << none.note->text;
    const auto warned = proposeLimits(about(), fine, Zone::utc());
    EXPECT_TRUE(warned.acceptable());
    EXPECT_TRUE(warned.sdFinerThanReadings);
}

} // namespace
} // namespace mk::registry
