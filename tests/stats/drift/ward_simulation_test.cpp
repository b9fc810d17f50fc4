// SPDX-License-Identifier: GPL-3.0-or-later
// What a ward can live with, on simulated wards: few false tellings, and changes that are told of and stopped in time (handbook 6.5).
#include "support/ward_simulator.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>

namespace mk::stats {
namespace {

using namespace test;

std::vector<SimulatedMeter> wards(SimulatedWard ward, int howMany)
{
    std::vector<SimulatedMeter> all;
    for (int i = 0; i < howMany; ++i) {
        const auto meters = simulate(ward);
        all.insert(all.end(), meters.begin(), meters.end());
        ++ward.seed;
    }
    return all;
}

void print(const char* what, const std::vector<SimulatedMeter>& meters, int days)
{
    const FalseTells tells = falseTells(meters, days);
    std::printf("%-44s told %.2f, %.1f days; stopped %.2f days a meter-year\n", what, tells.episodes, tells.toldDays, tells.stoppedDays);
}

} // namespace

TEST(WardSimulation, CriesWolfSeldom)
{
    for (const int meters : { 3, 12, 60, 200 })
        for (const int levels : { 1, 2 })
            for (const bool mmol : { false, true }) {
                SimulatedWard ward;
                ward.meters = meters, ward.levels = levels, ward.mmol = mmol;
                ward.seed = static_cast<std::uint64_t>(meters * 10 + levels);
                const auto all = wards(ward, 300 / meters);
                const std::string what = std::to_string(meters) + " meters, " + std::to_string(levels) + " levels, "
                    + (mmol ? "mmol/L" : "mg/dL");
                print(what.c_str(), all, ward.days);
                const FalseTells tells = falseTells(all, ward.days);
                EXPECT_LE(tells.episodes, 0.5) << what;
                EXPECT_LE(tells.toldDays, 5) << what;
                EXPECT_LE(tells.stoppedDays, 0.3) << what;
            }
}

TEST(WardSimulation, StopsAStepAndARamp)
{
    SimulatedWard ward;
    ward.meters = 20, ward.changed = 4;
    ward.change = Change { 120, 9, 0 };
    const auto steps = wards(ward, 30);
    EXPECT_LE(toldAt(steps, 0.5), 2);
    EXPECT_GE(stoppedWithin(steps, 7), 0.95);
    ward.change->rampDays = 45;
    const auto ramps = wards(ward, 30);
    EXPECT_GE(toldWithin(ramps, 30), 0.95);
    EXPECT_GE(stoppedWithin(ramps, 45), 0.90);
    print("the others of wards with a step", steps, ward.days);
    EXPECT_LE(falseTells(steps, ward.days).episodes, 0.5);
}

TEST(WardSimulation, ANewLotTellsOfNoMeter)
{
    SimulatedWard ward;
    ward.meters = 12, ward.lotDays = 90;
    const auto all = wards(ward, 25);
    print("12 meters, a new lot every 90 days", all, ward.days);
    EXPECT_LE(falseTells(all, ward.days).episodes, 0.5);
}

TEST(WardSimulation, WhatMovesAllIsTheLot)
{
    SimulatedWard ward;
    ward.meters = 12, ward.changed = 12, ward.days = 200;
    ward.change = Change { 120, 5, 0 };
    const auto all = wards(ward, 25);
    const auto told = std::ranges::count_if(all, [](const SimulatedMeter& each) { return each.told.has_value(); });
    const auto named = std::ranges::count_if(all, [](const SimulatedMeter& each) { return each.lotAtFirst == true; });
    EXPECT_GE(static_cast<double>(named), 0.9 * static_cast<double>(told)) << named << " of " << told;
}

} // namespace mk::stats
