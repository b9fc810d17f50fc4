// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

#include "registry/desk/second_person.h"

namespace mk::registry::sample {
namespace {

acts::EntryCorrected correction(const DeskWard& ward, const std::string& old, const std::string& now, const char* set = "A")
{
    return { ward.facts.now, base::OperatorId("N1"), base::SetId(set), Level::Low, "result", old, now, "Typed wrongly.", {} };
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
    EXPECT_EQ(ward.verdict("A"), Verdict::Rejected) << "nothing follows from it yet";
    EXPECT_EQ(ward.openCauses(), std::vector<std::string> { "control-rejected" });
    acts::CorrectionConfirmed word { ward.facts.now, base::OperatorId("N1"), corrected };
    EXPECT_EQ(ward.codeOf(word), "confirmed-by-oneself");
    word.by = base::OperatorId("N2");
    ward.record(word);
    EXPECT_EQ(ward.verdict("A"), Verdict::Accepted);
    EXPECT_TRUE(ward.openStops().empty());
    EXPECT_EQ(ward.codeOf(word), "nothing-waits");
}

TEST(ACorrection, ThatCompletesASetWaitsToo)
{
    DeskWard ward;
    ASSERT_TRUE(ward.tryBatch({ ward.run("A", Level::Low, "ERR:E1"), ward.run("A", Level::High, "300") }));
    ASSERT_EQ(ward.verdict("A"), Verdict::Partial) << "no stop stands, and the meter waits for a control";
    const base::Seq corrected = ward.record(correction(ward, "ERR:E1", "60"));
    EXPECT_EQ(ward.verdict("A"), Verdict::Partial);
    ward.record(acts::CorrectionConfirmed { ward.facts.now, base::OperatorId("N2"), corrected });
    EXPECT_EQ(ward.verdict("A"), Verdict::Accepted);
}

TEST(ACorrection, ThatWorsenedAVerdictKeepsNoHoldOnceARepeatIsAccepted)
{
    DeskWard ward;
    ward.runSet("A", "60", "300");
    ward.record(correction(ward, "60", "90"));
    ASSERT_EQ(ward.state(), MeterState::OnHold) << "it waited for nobody";
    ward.goTo("2026-05-04T08:20");
    ward.record(ward.run("A", Level::Low, "61"));
    EXPECT_EQ(ward.verdict("A"), Verdict::Accepted);
    EXPECT_EQ(ward.state(), MeterState::InService);
}

TEST(ACorrection, IsConfirmedByWhoHasNoPartInItAndIsCompetent)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    acts::EntryCorrected act = correction(ward, "90", "60");
    act.by = base::OperatorId("N2");
    acts::CorrectionConfirmed word { ward.facts.now, base::OperatorId("N1"), ward.record(act) };
    EXPECT_EQ(ward.codeOf(word), "second-has-part") << "N1 ran it";
    word.by = base::OperatorId("I1");
    EXPECT_EQ(ward.codeOf(word), "inspector-records-nothing");
    ward.record(acts::OperatorChanged { ward.facts.now, base::OperatorId("C1"), base::OperatorId("N3"), {}, {}, YesNo::Yes });
    word.by = base::OperatorId("N3");
    EXPECT_EQ(ward.codeOf(word), "account-closed");
    word.by = base::OperatorId("N4");
    EXPECT_EQ(ward.codeOf(word), "second-not-competent");
    EXPECT_EQ(ward.verdict("A"), Verdict::Rejected);
    word.by = base::OperatorId("C1");
    EXPECT_EQ(ward.codeOf(word), "");
    EXPECT_EQ(ward.verdict("A"), Verdict::Accepted);
}

TEST(ACorrection, WaitsForNobodyWhereThePolicySaysSo)
{
    DeskWard ward;
    ward.facts.policy.secondPerson = false;
    ward.runSet("A", "90", "300");
    ward.record(correction(ward, "90", "60"));
    EXPECT_EQ(ward.verdict("A"), Verdict::Accepted);
    EXPECT_TRUE(ward.openStops().empty());
}

TEST(ACorrection, IsNotSignedForByWhoeverWroteItWhileItWaits)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    const base::Seq corrected = ward.record(correction(ward, "90", "60"));
    acts::ReturnStep sign { ward.facts.now, base::MeterId("M1"), base::OperatorId("N1"), ReturnStepKind::Signed, {} };
    EXPECT_EQ(ward.codeOf(sign), "own-mending-waits");
    sign.by = base::OperatorId("N2");
    EXPECT_NE(ward.codeOf(sign), "own-mending-waits");
    ward.record(acts::CorrectionConfirmed { ward.facts.now, base::OperatorId("N2"), corrected });
    sign.by = base::OperatorId("N1");
    EXPECT_NE(ward.codeOf(sign), "own-mending-waits");
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

acts::EntryAnnulled annulment(const DeskWard& ward, base::Seq entry, const char* by = "N1")
{
    return { ward.facts.now, base::OperatorId(by), "entry", std::to_string(entry.value), "Never run." };
}

TEST(AnAnnulment, HappensOnceAndTakesTheVerdictBack)
{
    DeskWard ward;
    const base::Seq run = ward.record(ward.run("A", Level::Low, "60"));
    ASSERT_EQ(ward.verdict("A"), Verdict::Partial);
    acts::EntryAnnulled act = annulment(ward, run);
    act.confirmedBy = base::OperatorId("N2");
    ward.record(act);
    const auto verdicts = ward.facts.all<acts::SetJudged>();
    ASSERT_EQ(verdicts.size(), 2U);
    EXPECT_TRUE(verdicts.back().act.runs.empty());
    EXPECT_EQ(verdicts.back().act.oldVerdict, Verdict::Partial);
    act.reason = "Again.";
    EXPECT_EQ(ward.faultOf(act), FaultKind::Conflict);
    act.key = "9999";
    EXPECT_EQ(ward.faultOf(act), FaultKind::NotFound);
    act.reason = " ";
    EXPECT_EQ(ward.codeOf(act), "mending-reason-missing");
}

TEST(AnAnnulment, OfAFailureWaitsForASecondPerson)
{
    DeskWard ward;
    ward.runSet("A", "60", "300");
    ward.goTo("2026-05-05T08:00");
    const base::Seq run { static_cast<std::int64_t>(ward.facts.entries().size()) + 1 };
    ward.runSet("B", "90", "300");
    ASSERT_EQ(ward.verdict("B"), Verdict::Rejected);
    const base::Seq annulled = ward.record(annulment(ward, run));
    EXPECT_EQ(ward.verdict("B"), Verdict::Rejected) << "nothing follows from it yet";
    acts::CorrectionConfirmed word { ward.facts.now, base::OperatorId("N1"), annulled };
    EXPECT_EQ(ward.codeOf(word), "confirmed-by-oneself");
    word.by = base::OperatorId("N2");
    ward.record(word);
    EXPECT_EQ(ward.verdict("B"), Verdict::Partial);
}

TEST(AnAnnulment, AsksTheRoleOfWhatItAnnuls)
{
    DeskWard ward;
    ward.author = "C1";
    acts::RangeAssigned range = Materials().lowRange.act;
    range.from = ward.facts.now;
    const base::Seq targets = ward.record(range);
    ward.author = "N1";
    EXPECT_EQ(ward.codeOf(annulment(ward, targets)), "annulment-needs-role");
    ward.author = "C1";
    EXPECT_EQ(ward.codeOf(annulment(ward, targets, "C1")), "");
    ward.author.clear();
    ward.runSet("A", "60", "300");
    EXPECT_EQ(ward.codeOf(annulment(ward, ward.facts.all<acts::SetJudged>().front().seq, "C1")), "annulled-by-nobody");
}

TEST(ACorrection, SpeaksOfTheAttemptThatThereWasWhenItWasEntered)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    const base::Seq corrected = ward.record(correction(ward, "90", "60"));
    ward.record(ward.run("A", Level::Low, "91"));
    ward.record(acts::CorrectionConfirmed { ward.facts.now, base::OperatorId("N2"), corrected });
    const auto runs = ward.facts.runs(base::SetId("A")).value();
    ASSERT_EQ(runs.size(), 3U);
    EXPECT_EQ(toText(runs[0].run.result), "60");
    EXPECT_EQ(toText(runs[2].run.result), "91") << "a later attempt";
    EXPECT_EQ(ward.verdict("A"), Verdict::Rejected);
}

TEST(ACorrection, IsNotConfirmedOnceItsRunSaysSomethingElseOrIsGone)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    const base::Seq first = ward.record(correction(ward, "90", "60"));
    const base::Seq other = ward.record(correction(ward, "90", "61"));
    acts::CorrectionConfirmed word { ward.facts.now, base::OperatorId("N2"), first };
    ward.record(word);
    word.entry = other;
    EXPECT_EQ(ward.codeOf(word), "corrected-before");

    ward.goTo("2026-05-04T09:00");
    ward.runSet("B", "90", "300");
    const base::Seq low { ward.facts.all<acts::ControlRun>().back().seq.value };
    ward.record(ward.run("B", Level::Low, "90"));
    const base::Seq again { ward.facts.all<acts::ControlRun>().back().seq.value };
    ASSERT_NE(again, low);
    word.entry = ward.record(correction(ward, "90", "60", "B"));
    acts::EntryAnnulled gone { ward.facts.now, base::OperatorId("C1"), "entry", std::to_string(again.value), "Never run." };
    gone.confirmedBy = base::OperatorId("N3");
    ward.record(gone);
    EXPECT_EQ(ward.codeOf(word), "annulled-already") << "the attempt before it says the same";
}

TEST(ACorrection, IsConfirmedByNobodyItsRunWasEverAscribedTo)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    acts::EntryCorrected given = correction(ward, "N1", "N2");
    given.column = "operator", given.confirmedBy = base::OperatorId("C1");
    ward.record(given);
    acts::EntryCorrected typed = correction(ward, "90", "60");
    typed.confirmedBy = base::OperatorId("N2");
    EXPECT_EQ(ward.codeOf(typed), "second-has-part");
    typed.confirmedBy = base::OperatorId("C1");
    EXPECT_EQ(ward.codeOf(typed), "");
}

TEST(ACorrection, IsConfirmedByNobodyWhoTypedIt)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    ward.author = "C1";
    const base::Seq corrected = ward.record(correction(ward, "90", "60"));
    ward.author.clear();
    EXPECT_EQ(ward.codeOf(acts::CorrectionConfirmed { ward.facts.now, base::OperatorId("C1"), corrected }), "second-has-part");
    EXPECT_EQ(ward.codeOf(acts::CorrectionConfirmed { ward.facts.now, base::OperatorId("N2"), corrected }), "");
}

TEST(AnAnnulment, OfWhatIsAnnulledMeanwhileIsNotConfirmed)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    const base::Seq run { ward.facts.all<acts::ControlRun>().front().seq.value };
    acts::CorrectionConfirmed word { ward.facts.now, base::OperatorId("N2"), ward.record(annulment(ward, run)) };
    acts::EntryAnnulled other = annulment(ward, run, "C1");
    other.confirmedBy = base::OperatorId("N3");
    ward.record(other);
    EXPECT_EQ(ward.codeOf(word), "annulled-already");
}

TEST(AnAnnulment, ThatMakesAMeterNoBetterWaitsForNobody)
{
    DeskWard ward;
    const auto happened = [&](IncidentKind what) {
        acts::IncidentReported incident;
        incident.at = ward.facts.now;
        incident.meter = base::MeterId("M1");
        incident.by = base::OperatorId("N1");
        incident.what = what;
        if (what == IncidentKind::Cleaned)
            incident.agent = "wipe", incident.contactTimeKept = YesNo::Yes;
        return ward.record(incident);
    };
    const base::Seq cleaned = happened(IncidentKind::Cleaned), dropped = happened(IncidentKind::Dropped);
    ward.record(annulment(ward, cleaned));
    ward.record(annulment(ward, dropped));
    const auto annulled = ward.facts.all<acts::EntryAnnulled>();
    ASSERT_EQ(annulled.size(), 2U);
    EXPECT_EQ(annulled[0].act.waits, std::nullopt) << "a cleaning that never was leaves the meter soiled";
    EXPECT_EQ(annulled[1].act.waits, YesNo::Yes);
}

} // namespace
} // namespace mk::registry::sample
