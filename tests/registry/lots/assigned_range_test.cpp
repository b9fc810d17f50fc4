// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/lots/assigned_range.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

RangeRecord aRangeFrom(std::int64_t seq, const char* from, const char* meter = nullptr)
{
    acts::RangeAssigned range;
    range.controlLot = base::ControlLotId("CL");
    range.level = Level::Low;
    if (from != nullptr)
        range.from = sample::at(from);
    if (meter != nullptr)
        range.meter = base::MeterId(meter);
    return { { seq }, range };
}

std::int64_t inForce(const std::vector<RangeRecord>& ranges, const char* at, const char* meter = "M1")
{
    const auto* found = rangeInForce(ranges, base::ControlLotId("CL"), Level::Low, sample::at(at),
        meter != nullptr ? std::optional(base::MeterId(meter)) : std::nullopt);
    return found == nullptr ? 0 : found->seq.value;
}

TEST(AssignedRange, IsTheNewestThatWasInForceThen)
{
    const std::vector<RangeRecord> ranges { aRangeFrom(1, nullptr), aRangeFrom(2, "2026-05-02T00:00"), aRangeFrom(3, "2026-05-04T00:00") };
    EXPECT_EQ(inForce(ranges, "2026-05-01T00:00"), 1);
    EXPECT_EQ(inForce(ranges, "2026-05-02T00:00"), 2);
    EXPECT_EQ(inForce(ranges, "2026-05-09T00:00"), 3);
    EXPECT_EQ(inForce({ ranges[2] }, "2026-05-03T00:00"), 0);
}

TEST(AssignedRange, PutsAMetersOwnBeforeTheGroupsHoweverNewTheseAre)
{
    const std::vector<RangeRecord> ranges { aRangeFrom(1, "2026-05-01T00:00"), aRangeFrom(2, "2026-05-02T00:00", "M1"),
        aRangeFrom(3, "2026-05-04T00:00") };
    EXPECT_EQ(inForce(ranges, "2026-05-01T12:00"), 1);
    EXPECT_EQ(inForce(ranges, "2026-05-05T00:00"), 2);
    EXPECT_EQ(inForce(ranges, "2026-05-05T00:00", "M2"), 3);
    EXPECT_EQ(inForce(ranges, "2026-05-05T00:00", nullptr), 3);
}

TEST(AssignedRange, LooksAtNoOtherLotOrLevel)
{
    auto other = aRangeFrom(1, nullptr);
    other.act.controlLot = base::ControlLotId("CL-other");
    auto high = aRangeFrom(2, nullptr);
    high.act.level = Level::High;
    EXPECT_EQ(inForce({ other, high }, "2026-05-05T00:00"), 0);
}

} // namespace
} // namespace mk::registry
