// SPDX-License-Identifier: GPL-3.0-or-later
// Handbook 4.1, D2 to D4: what a lot or vial that comes into use asks of a meter.
#include "registry/meter/new_material.h"

#include "registry/meter/fitness.h"
#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::at;
using sample::berlin;

OpenStripVial openVial(const std::string& vial, const std::string& lot, bool lotControlled, bool controlled)
{
    return { { { 80 }, { base::StripVialId(vial), base::StripLotId(lot), at("2026-05-04T07:20"), base::WardId("W1") }, {} }, lotControlled,
        controlled };
}

/// M1 controlled on V1 of S1 at 07:00; V1 is empty since 07:30, and this stands open.
MeterHistory afterTheLastStrip(std::vector<OpenStripVial> open)
{
    static const Policy policy = defaultPolicy();
    sample::Materials materials;
    MeterSeries series(policy);
    MeterHistory history;
    history.meter = { { 2 }, { base::MeterId("M1"), base::ModelId("K1"), {}, base::WardId("W1"), at("2026-05-01"), {} } };
    history.model = materials.model;
    history.ward = base::WardId("W1");
    history.state = StateSpell { { 2 }, MeterState::InService, at("2026-05-01"), {} };
    history.newestSet = history.newestAccepted = sample::judgePairOf(series, materials, "s", "2026-05-04T07:00", "60", "300");
    history.stripVial = materials.stripVial;
    history.stripLot = materials.stripLot;
    history.stripVial->ended = { { 71 }, { at("2026-05-04T07:30"), "V1", base::OperatorId("N1"), VialEndKind::Empty } };
    history.otherStripVialOpen = !open.empty();
    history.openStripVials = std::move(open);
    return history;
}

Policy asking(NewStripLot lot, NewStripVial vial)
{
    Policy policy = defaultPolicy();
    policy.newStripLot = lot;
    policy.newStripVial = vial;
    return policy;
}

std::string materialCodes(const MeterHistory& history, const Policy& policy)
{
    std::string codes;
    for (const auto& reason : assess(history, policy, at("2026-05-04T08:00"), berlin()).reasons)
        codes += std::string(code(reason.code)) + (reason.blocks ? "! " : " ");
    return codes;
}

const Policy kDefault = defaultPolicy();
const Policy kEveryMeter = asking(NewStripLot::Control, NewStripVial::EveryMeter);
const Policy kByInsert = asking(NewStripLot::Insert, NewStripVial::Insert);

} // namespace

TEST(NewMaterial, ANewLotIsControlledOnTheMeterBeforePatientUse)
{
    const auto onlyNew = afterTheLastStrip({ openVial("V2", "S2", false, false) });
    EXPECT_EQ(materialCodes(onlyNew, kDefault), "new-strip-lot! ");
    EXPECT_EQ(materialCodes(onlyNew, kEveryMeter), "new-strip-lot! ");
    EXPECT_EQ(materialCodes(onlyNew, kByInsert), "") << "said, and nothing more";
    EXPECT_EQ(assess(onlyNew, kByInsert, at("2026-05-04T08:00"), berlin()).next.size(), 1U);
    const Fitness fitness = assess(onlyNew, kDefault, at("2026-05-04T08:00"), berlin());
    EXPECT_FALSE(fitness.usable);
    EXPECT_FALSE(fitness.until);
    EXPECT_EQ(fitness.advice, Advice::Check);
    ASSERT_EQ(fitness.next.size(), 1U);
    EXPECT_EQ(fitness.reasons[0].evidence, std::vector { base::Seq { 80 } });
    EXPECT_EQ(materialCodes(afterTheLastStrip({ openVial("V2", "S2", true, true) }), kDefault), "") << "controlled on it since";
    EXPECT_EQ(materialCodes(afterTheLastStrip({ openVial("V3", "S2", true, false) }), kDefault), "") << "the next vial of that lot";
}

TEST(NewMaterial, ANewLotBesideOneThatIsKnownOnlyAsksForAControlFirst)
{
    const auto both = afterTheLastStrip({ openVial("V2", "S2", false, false), openVial("V3", "S1", true, false) });
    const Fitness fitness = assess(both, kDefault, at("2026-05-04T08:00"), berlin());
    EXPECT_TRUE(fitness.usable);
    EXPECT_TRUE(fitness.reasons.empty());
    EXPECT_EQ(fitness.next.size(), 1U);
}

TEST(NewMaterial, ANewVialMakesNoMeterDueUnlessEveryMeterIsAsked)
{
    const auto newVial = afterTheLastStrip({ openVial("V2", "S1", true, false) });
    EXPECT_EQ(materialCodes(newVial, kDefault), "");
    EXPECT_TRUE(assess(newVial, kDefault, at("2026-05-04T08:00"), berlin()).next.empty());
    EXPECT_EQ(materialCodes(newVial, kByInsert), "");
    EXPECT_EQ(materialCodes(newVial, kEveryMeter), "new-strip-vial! ");
    EXPECT_EQ(materialCodes(afterTheLastStrip({ openVial("V2", "S1", true, true) }), kEveryMeter), "");
}

TEST(NewMaterial, WhereEveryMeterIsAskedTheOldVialServesWhileItIsOpen)
{
    auto history = afterTheLastStrip({ openVial("V2", "S1", true, false), openVial("V1", "S1", true, true) });
    history.stripVial->ended.reset();
    const Fitness fitness = assess(history, kEveryMeter, at("2026-05-04T08:00"), berlin());
    EXPECT_TRUE(fitness.usable);
    EXPECT_TRUE(fitness.reasons.empty());
    EXPECT_EQ(fitness.next.size(), 1U);
}

TEST(NewMaterial, NothingMoreIsAskedWhereAControlIsOwedAnyway)
{
    auto history = afterTheLastStrip({ openVial("V2", "S2", false, false) });
    const auto tomorrow = assess(history, kDefault, at("2026-05-05T08:00"), berlin());
    EXPECT_EQ(sample::codesOf(tomorrow), std::vector<std::string> { "control-overdue" });
    history.state->state = MeterState::Reserve;
    EXPECT_EQ(materialCodes(history, kDefault), "not-in-service! ");
}

TEST(NewMaterial, BesideMeansOneMeterWithinTheTimeOfASet)
{
    static const Policy policy = defaultPolicy();
    const base::ControlVialId l1("L1"), l2("L2");
    const base::MeterId m1("M1"), m2("M2");
    std::vector<ControlVialUse> uses { { m1, l1, at("2026-05-04T07:00") } };
    const auto beside = [&](std::string_view by = "2026-05-04T08:00") { return ranBeside(uses, l2, at(by), policy); };
    EXPECT_FALSE(beside());
    uses.push_back({ m2, l2, at("2026-05-04T07:20") });
    EXPECT_FALSE(beside()) << "each on a meter of its own";
    uses.back().meter = m1;
    EXPECT_TRUE(beside());
    EXPECT_FALSE(beside("2026-05-04T07:10")) << "not yet";
    uses.back().at = at("2026-05-04T07:31");
    EXPECT_FALSE(beside());
    uses.back().at = at("2026-05-04T07:30");
    EXPECT_TRUE(beside());
    uses.front().vial = l2;
    EXPECT_FALSE(beside()) << "a vial is not its own elder";
}

} // namespace mk::registry
