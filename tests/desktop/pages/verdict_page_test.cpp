// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/pages/verdict_page.h"

#include <QAction>
#include <QApplication>
#include <QKeyEvent>
#include <QSignalSpy>

#include <gtest/gtest.h>

namespace mk::desktop {
namespace {

using registry::Reason;
using registry::ReasonCode;

/// A meter in service that may not be used for these reasons.
RecordAnswer stoppedBy(std::vector<Reason> reasons)
{
    RecordAnswer answer;
    answer.meter = base::MeterId("M-11");
    answer.outcome = std::vector<store::Outcome>();
    BoardLine line;
    line.row.history.meter.act.meter = answer.meter;
    line.row.fitness.state = registry::MeterState::InService;
    line.row.fitness.usable = false;
    line.row.fitness.advice = registry::Advice::Withdraw;
    line.row.fitness.reasons = std::move(reasons);
    answer.line = std::move(line);
    return answer;
}

/// F8
void press(const VerdictPage& page)
{
    for (QAction* action : page.actions())
        if (action->shortcut() == QKeySequence(Qt::Key_F8))
            action->trigger();
}

} // namespace

TEST(VerdictPage, AsksForAWithdrawalWithTheReasonThatAdvisesIt)
{
    VerdictPage page;
    std::vector<ReasonCode> asked;
    QObject::connect(&page, &VerdictPage::withdrawAsked, &page, [&](const QString&, ReasonCode reason) { asked.push_back(reason); });
    page.setOutcome(
        stoppedBy({ Reason { ReasonCode::ControlRejected }, Reason { ReasonCode::NotForSharedUse } }), QStringLiteral("D. Arlen"));
    press(page);
    page.setOutcome(
        stoppedBy({ Reason { .code = ReasonCode::Drift, .blocks = false }, Reason { ReasonCode::Damaged } }), QStringLiteral("D. Arlen"));
    press(page);
    EXPECT_EQ(asked, (std::vector { ReasonCode::NotForSharedUse, ReasonCode::Damaged })) << "what blocks, and advises it";
}

TEST(VerdictPage, AsksForAWithdrawalByTheControlWhileTheLadderIsClimbed)
{
    RecordAnswer failed = stoppedBy({ Reason { ReasonCode::Damaged } });
    failed.runs.emplace_back();
    failed.line->row.history.ladder = registry::Ladder { .attempts = {},
        .step = 3,
        .ending = {},
        .spentVials = {},
        .acceptedSet = {},
        .firstFailure = {},
        .endedAt = {},
        .exhaustedBy = {},
        .techniqueChecked = {} };
    VerdictPage page;
    page.setOutcome(failed, QStringLiteral("D. Arlen"));
    EXPECT_EQ(page.withdrawalReason(), ReasonCode::ControlRejected);
}

TEST(VerdictPage, IsNotPassedOverByAKeyThatIsHeldDown)
{
    VerdictPage page;
    page.setOutcome(stoppedBy({ Reason { ReasonCode::Damaged } }), QStringLiteral("D. Arlen"));
    const QSignalSpy left(&page, &Page::finished);
    QKeyEvent held(QEvent::KeyPress, Qt::Key_Return, Qt::NoModifier, QStringLiteral("\r"), true);
    QApplication::sendEvent(page.firstFocus(), &held);
    EXPECT_EQ(left.count(), 0);
    QKeyEvent pressed(QEvent::KeyPress, Qt::Key_Return, Qt::NoModifier, QStringLiteral("\r"), false);
    QApplication::sendEvent(page.firstFocus(), &pressed);
    EXPECT_EQ(left.count(), 1);
}

} // namespace mk::desktop
