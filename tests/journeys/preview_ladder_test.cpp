// SPDX-License-Identifier: GPL-3.0-or-later
#include "journeys/ladder_ward.h"

#include "store/read/read_policy_preview.h"

namespace mk::journeys {
namespace {

/// In range, and beyond +3 SD: it is the rule that rejects, on every step up to the last.
void failEveryStepByRule(LadderWard& ward)
{
    Setting newControl = ward.onV7, newStrip = ward.onV7;
    newControl.low = newStrip.low = "L2";
    newStrip.strip = "V8";
    ward.world.run("S", "2026-05-04T06:58", Level::High, "300", ward.onV7);
    ward.world.run("S", "2026-05-04T07:00", Level::Low, "70", ward.onV7);
    ward.world.run("S", "2026-05-04T07:04", Level::Low, "70", ward.onV7);
    ward.world.run("S", "2026-05-04T07:10", Level::Low, "70", newControl);
    ward.world.run("S", "2026-05-04T07:15", Level::Low, "70", newStrip);
}

PreviewDay dayUnder(LadderWard& ward, const Policy& candidate)
{
    auto reader = ward.world.reader();
    const auto day = base::parseDate("2026-05-04").value();
    const auto previews = store::previewOf(reader, candidate, { day, day, ward.world.at("2026-05-04T18:00") }, {});
    EXPECT_TRUE(previews) << previews.error().text;
    for (const auto& meter : *previews)
        if (meter.meter == kM1)
            return meter.days.front();
    ADD_FAILURE() << "no M1";
    return {};
}

TEST(PolicyPreview, DecidesAWithdrawalByTheLadderAnew)
{
    LadderWard ward(olderGround().policy);
    failEveryStepByRule(ward);
    ASSERT_EQ(ward.world.fitness("2026-05-04T12:00").state, MeterState::Withdrawn);
    const PreviewDay asItWas = dayUnder(ward, policyFrom(olderGround().policy).value());
    EXPECT_FALSE(asItWas.differs());
    EXPECT_TRUE(asItWas.stoodWithdrawn);
    EXPECT_EQ(asItWas.stopped, (std::vector<std::string> { "control-rejected", "ladder-exhausted" }));

    Policy lenient = policyFrom(olderGround().policy).value();
    std::erase_if(lenient.rules, [](const auto& choice) { return choice.rule != stats::Rule::OneTwoS; });
    const PreviewDay would = dayUnder(ward, lenient);
    EXPECT_TRUE(would.usable) << (would.reasons.empty() ? "" : would.reasons.front());
    EXPECT_TRUE(would.stopped.empty());
}

} // namespace
} // namespace mk::journeys
