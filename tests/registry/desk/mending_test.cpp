// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

namespace mk::registry::sample {
namespace {

acts::EntryCorrected correction(const DeskWard& ward, const std::string& old, const std::string& now)
{
    return { ward.facts.now, base::OperatorId("N1"), base::SetId("A"), Level::Low, "result", old, now, "Typed wrongly.", {} };
}

TEST(ACorrection, NamesWhatStands)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    EXPECT_EQ(ward.codeOf(correction(ward, "80", "60")), "corrected-before");
    acts::EntryCorrected other = correction(ward, "90", "60");
    other.level = Level::Normal;
    EXPECT_EQ(ward.faultOf(other), FaultKind::NotFound);
    other = correction(ward, "M1", "M2");
    other.column = "meter";
    EXPECT_EQ(ward.faultOf(other), FaultKind::Refused);
    other = correction(ward, "90", "60");
    other.column = "colour";
    EXPECT_EQ(ward.faultOf(other), FaultKind::BadInput);
}

TEST(ACorrection, ThatLiftsAHoldWaitsForASecondPerson)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    const base::Seq corrected = ward.record(correction(ward, "90", "60"));
    EXPECT_EQ(ward.verdict("A"), Verdict::Accepted);
    EXPECT_EQ(ward.openCauses(), std::vector<std::string> { "control-rejected" });
    acts::CorrectionConfirmed word { ward.facts.now, base::OperatorId("N1"), corrected };
    EXPECT_EQ(ward.codeOf(word), "confirmed-by-oneself");
    word.by = base::OperatorId("N2");
    ward.record(word);
    EXPECT_TRUE(ward.openStops().empty());
}

TEST(ACorrection, ConfirmedAtOnceLiftsAtOnce)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    acts::EntryCorrected act = correction(ward, "90", "60");
    act.confirmedBy = act.by;
    EXPECT_EQ(ward.codeOf(act), "confirmed-by-oneself-alone");
    act.confirmedBy = base::OperatorId("N2");
    ward.record(act);
    EXPECT_TRUE(ward.openStops().empty());
}

TEST(ACorrection, ThatMakesAFailureWaitsForNobody)
{
    DeskWard ward;
    ward.runSet("A", "60", "300");
    ward.record(correction(ward, "60", "90"));
    EXPECT_EQ(ward.verdict("A"), Verdict::Rejected);
    EXPECT_EQ(ward.openCauses(), std::vector<std::string> { "control-rejected" });
}

TEST(AnAnnulment, HappensOnceAndTakesTheVerdictBack)
{
    DeskWard ward;
    const base::Seq run = ward.record(ward.run("A", Level::Low, "60"));
    ASSERT_EQ(ward.verdict("A"), Verdict::Partial);
    acts::EntryAnnulled act { ward.facts.now, base::OperatorId("N1"), "entry", std::to_string(run.value), "Never run." };
    ward.record(act);
    const auto verdicts = ward.facts.all<acts::SetJudged>();
    ASSERT_EQ(verdicts.size(), 2U);
    EXPECT_TRUE(verdicts.back().act.runs.empty());
    EXPECT_EQ(verdicts.back().act.oldVerdict, Verdict::Partial);
    act.reason = "Again.";
    EXPECT_EQ(ward.faultOf(act), FaultKind::Conflict);
    act.key = "9999";
    EXPECT_EQ(ward.faultOf(act), FaultKind::NotFound);
}

} // namespace
} // namespace mk::registry::sample
