// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

namespace mk::registry::sample {
namespace {

class ProficiencySample : public ::testing::Test {
protected:
    ProficiencySample()
    {
        acts::EqaReceived received { ward.facts.now, base::OperatorId("C1"), "S", "2026-1", "A", at("2026-05-10T12:00"),
            base::MeterId("M1"), {}, {} };
        ward.record(received);
    }
    acts::EqaReturned returned(const std::string& result) const
    {
        return { ward.facts.now, base::OperatorId("N1"), "S", "2026-1", "A", base::StripVialId("V1"), parseReading(result).value(),
            base::GlucoseUnit::MgPerDl, {}, YesNo::Yes };
    }
    acts::EqaScored scored() const
    {
        return { ward.facts.now, base::OperatorId("C1"), "S", "2026-1", "A", decimal("100"), decimal("5"), {}, {}, {}, {} };
    }
    DeskWard ward;
};

TEST_F(ProficiencySample, IsReturnedOnceAttestedInTheMetersUnit)
{
    acts::EqaReturned result = returned("100");
    result.attested = YesNo::No;
    EXPECT_EQ(ward.codeOf(result), "not-attested");
    result = returned("5.6");
    result.unit = base::GlucoseUnit::MmolPerL;
    EXPECT_EQ(ward.codeOf(result), "other-unit");
    ward.record(returned("100"));
    EXPECT_EQ(ward.codeOf(returned("101")), "sample-returned-already");
}

TEST_F(ProficiencySample, ThreeSdOffWithdrawsTheMeterAndOpensANonconformity)
{
    ward.record(returned("115"));
    ward.goTo("2026-05-20T08:00");
    const base::Seq score = ward.record(scored());
    EXPECT_EQ(ward.openCauses(), std::vector<std::string> { "eqa-failed" });
    EXPECT_EQ(ward.state(), MeterState::Withdrawn);
    const auto opened = ward.facts.all<acts::NcOpened>();
    ASSERT_EQ(opened.size(), 1U);
    EXPECT_EQ(opened.front().act.type, "eqa-failed");
    EXPECT_EQ(opened.front().act.because, score);
    EXPECT_EQ(opened.front().act.by.value, "C1");
}

TEST_F(ProficiencySample, ReturnedLateStopsNothing)
{
    ward.goTo("2026-05-11T08:00");
    ward.record(returned("100"));
    EXPECT_TRUE(ward.openStops().empty());
    EXPECT_EQ(ward.facts.all<acts::NcOpened>().size(), 1U);
}

TEST_F(ProficiencySample, WithinTwoSdIsQuiet)
{
    ward.record(returned("109"));
    ward.goTo("2026-05-20T08:00");
    ward.record(scored());
    EXPECT_TRUE(ward.openStops().empty());
    EXPECT_TRUE(ward.facts.all<acts::NcOpened>().empty());
}

} // namespace
} // namespace mk::registry::sample
