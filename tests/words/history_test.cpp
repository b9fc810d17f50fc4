// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/history.h"

#include "words/said.h"

namespace mk::words {
namespace {

using namespace registry;

acts::ControlRun aRun()
{
    acts::ControlRun run;
    run.meter = base::MeterId("M-07");
    run.by = base::OperatorId("n-arlen");
    run.level = Level::Low;
    run.result = parseReading("46").value();
    run.stripVial = base::StripVialId("S2611-09");
    run.controlVial = base::ControlVialId("CL-418-3");
    run.lateReason = "the paper lay in the drawer";
    return run;
}

/// What programs read in `text` of `history --json`.
TEST(HistoryLine, SaysInEnglishWhatItAlwaysSaid)
{
    EXPECT_EQ(historyLine(aRun(), {}).toStdString(),
        "low 46 mg/dL on M-07 at " + base::toText(base::Moment())
            + " by n-arlen, strips S2611-09, control CL-418-3, entered late: the paper lay in the drawer");
    acts::EntryAnnulled annulled;
    annulled.by = base::OperatorId("rook");
    annulled.reason = "wrong meter";
    EXPECT_EQ(historyLine(annulled, {}).toStdString(), "annulled by rook: wrong meter");
}

TEST(HistoryLine, NothingEscapesTranslation)
{
    const test::Pseudo pseudo;
    acts::SetJudged judged;
    judged.oldVerdict = Verdict::Rejected;
    for (const Act& act : { Act(aRun()), Act(acts::EntryCorrected()), Act(acts::CorrectionConfirmed()), Act(acts::EntryAnnulled()),
             Act(acts::SetJudged()), Act(judged) })
        for (const auto kept : { std::optional<base::Moment>(), std::optional(base::Moment()) })
            test::expectTranslated(historyLine(act, kept));
}

} // namespace
} // namespace mk::words
