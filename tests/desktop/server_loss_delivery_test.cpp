// SPDX-License-Identifier: GPL-3.0-or-later
// What was typed while the server was away: kept, delivered when it is back, and once.
#include "server_loss.h"

namespace mk::desktop {
namespace {

TEST_F(ServerLoss, KeepsAControlAndDeliversItAfterAnHourAsDeliveredLate)
{
    openOnBoard();
    openSheet("M-11");
    type("47");
    press(Qt::Key_Return);
    stop();
    ASSERT_TRUE(saysLost());
    type("296");
    press(Qt::Key_Return);
    ASSERT_TRUE(verdictShown());
    const auto& outcome = *m_window->verdictPage()->outcome();
    ASSERT_TRUE(outcome.kept);
    EXPECT_TRUE(
        says(m_window->verdictPage(), QStringLiteral("Kept on this workstation at 06:47. It is not judged yet and clears nothing.")));
    EXPECT_TRUE(says(m_window->verdictPage(), QStringLiteral("Do not use M-11"))) << "no verdict is made up";
    EXPECT_FALSE(says(m_window->verdictPage(), QStringLiteral("M-11 may be used")));
    EXPECT_TRUE(lineOf("M-11")->waits);
    picture("kept");
    m_now = base::plusMs(m_now, 3'600'000);
    start();
    ASSERT_TRUE(isBack());
    ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->serverStrip()->text().contains(QStringLiteral("delivered")); }, kPatience));
    const auto found = runs();
    ASSERT_EQ(found.size(), 2u);
    for (const auto& entry : found) {
        EXPECT_EQ(store::keptSince(entry.body), wall("2026-11-18T06:47"));
        EXPECT_EQ(entry.at, m_now.utcMs) << "recorded when the registry came to know";
        EXPECT_EQ(entry.person, "arlen");
        EXPECT_EQ(entry.station, "W5-A");
    }
    m_window->openWard();
    ASSERT_TRUE(QTest::qWaitFor([&] { return lineOf("M-11")->row.fitness.usable; }, kPatience));
    EXPECT_EQ(lineOf("M-11")->row.history.newestAccepted->runs.size(), 2u);
    picture("delivered");
    press(Qt::Key_Escape);
    EXPECT_FALSE(m_window->serverStrip()->isVisible());
}

TEST_F(ServerLoss, AControlBegunWhileTheServerIsAwayIsNotJudgedHere)
{
    openOnBoard();
    stop();
    ASSERT_TRUE(saysLost());
    openSheet("M-12");
    EXPECT_TRUE(QTest::qWaitFor([&] { return says(m_window->controlSheet(), QStringLiteral("Not looked up")); }, kPatience));
    type("48");
    press(Qt::Key_Return);
    EXPECT_TRUE(says(m_window->controlSheet(), QStringLiteral("Not judged while the server is away.")));
    picture("sheet-while-away");
    type("900"); // nothing like the range
    press(Qt::Key_Return);
    ASSERT_TRUE(verdictShown());
    EXPECT_TRUE(m_window->verdictPage()->outcome()->kept);
    start();
    ASSERT_TRUE(isBack());
    ASSERT_TRUE(onRecord(0) || onRecord(2));
}

TEST_F(ServerLoss, TheLineBreaksWhileAControlIsOnItsWayAndItStandsOnce)
{
    openOnBoard();
    openSheet("M-11");
    auto other = store::Session::open(m_place, store::Session::Access::ReadWrite);
    ASSERT_TRUE(other);
    ASSERT_TRUE((*other)->begin()); // holds the journal: the window's act waits at the server
    typeBoth("47", "296");
    QTest::qWait(300);
    EXPECT_EQ(m_window->page(), m_window->controlSheet());
    stop();
    ASSERT_TRUE(verdictShown());
    EXPECT_TRUE(m_window->verdictPage()->outcome()->kept);
    EXPECT_TRUE(m_window->verdictPage()->outcome()->mayHaveArrived);
    other->reset();
    start();
    ASSERT_TRUE(isBack());
    ASSERT_TRUE(onRecord(2));
}

TEST_F(ServerLoss, ARefusedOneIsShownAndStopsNothingBehindIt)
{
    openOnBoard();
    stop();
    ASSERT_TRUE(saysLost());
    openSheet("M-11");
    QLineEdit* vial = m_window->controlSheet()->panel(Level::Low)->findChild<QLineEdit*>(QStringLiteral("vialEdit"));
    ASSERT_NE(vial, nullptr);
    vial->setFocus();
    vial->selectAll();
    type("CL-99"); // on no record
    m_window->controlSheet()->panel(Level::Low)->focusResult();
    QTest::qWait(200);
    typeBoth("47", "296");
    ASSERT_TRUE(verdictShown());
    ASSERT_TRUE(m_window->verdictPage()->outcome()->kept);
    m_window->openWard();
    m_now = base::plusMs(m_now, 60'000);
    openSheet("M-12");
    typeBoth("48", "291");
    ASSERT_TRUE(verdictShown());
    ASSERT_TRUE(m_window->verdictPage()->outcome()->kept);
    m_window->openWard();
    start();
    ASSERT_TRUE(isBack());
    ASSERT_TRUE(
        QTest::qWaitFor([&] { return m_window->serverStrip()->text().contains(QStringLiteral("One record was not taken")); }, kPatience))
        << m_window->serverStrip()->text().toStdString();
    EXPECT_EQ(runs().size(), 2u) << "the one behind it";
    press(Qt::Key_Escape);
    EXPECT_TRUE(m_window->serverStrip()->isVisible()) << "until somebody has read it";
    press(Qt::Key_F7);
    ASSERT_EQ(m_window->page(), m_window->deliveryPage());
    ASSERT_EQ(m_window->deliveryPage()->list()->cells()->rowCount(), 1);
    picture("not-taken");
    // A window that is closed before anybody read it shows it again.
    m_window.reset();
    openOnBoard();
    ASSERT_TRUE(
        QTest::qWaitFor([&] { return m_window->serverStrip()->text().contains(QStringLiteral("One record was not taken")); }, kPatience));
    press(Qt::Key_F7);
    press(Qt::Key_Return);
    EXPECT_EQ(m_window->page(), m_window->wardPage());
    EXPECT_FALSE(m_window->serverStrip()->isVisible());
    m_window.reset();
    openOnBoard();
    EXPECT_FALSE(m_window->serverStrip()->isVisible());
}

TEST_F(ServerLoss, WhatAClosedWindowKeptIsDeliveredAtTheNextStart)
{
    openOnBoard();
    stop();
    ASSERT_TRUE(saysLost());
    openSheet("M-11");
    typeBoth("47", "296");
    ASSERT_TRUE(verdictShown());
    m_window.reset();
    start();
    openOnBoard();
    ASSERT_TRUE(onRecord(2));
    EXPECT_TRUE(QTest::qWaitFor([&] { return m_window->serverStrip()->text().contains(QStringLiteral("delivered")); }, kPatience));
}

TEST_F(ServerLoss, KeepsAReportOfAFall)
{
    openOnBoard();
    stop();
    ASSERT_TRUE(saysLost());
    QSignalSpy answered(&m_window->desk(), &RegistryDesk::recorded);
    m_window->desk().record(base::MeterId("M-12"), { { aFall("M-12"), {} } }, base::OperatorId("arlen"));
    ASSERT_TRUE(QTest::qWaitFor([&] { return answered.count() == 1; }, kPatience));
    EXPECT_TRUE(answered.front().at(1).value<RecordAnswer>().kept);
    registry::acts::MeterMoved moved;
    moved.at = m_now;
    moved.meter = base::MeterId("M-12");
    moved.by = base::OperatorId("arlen");
    moved.toState = registry::MeterState::Withdrawn;
    m_window->desk().record(base::MeterId("M-12"), { { moved, {} } }, base::OperatorId("arlen"));
    ASSERT_TRUE(QTest::qWaitFor([&] { return answered.count() == 2; }, kPatience));
    EXPECT_FALSE(answered.back().at(1).value<RecordAnswer>().kept) << "a withdrawal is decided where the records are";
    start();
    ASSERT_TRUE(isBack());
    EXPECT_TRUE(QTest::qWaitFor([&] { return lineOf("M-12")->row.history.incidents.size() == 1; }, kPatience));
}

TEST_F(ServerLossOnPaper, WhatIsSavedAgainAfterABrokenLineStandsOnce)
{
    openOnBoard();
    DeskWorker worker(windowOptions().desk);
    ASSERT_TRUE(worker.board(base::WardId("W5")));
    // The same act, as the form sends it twice: its id stays.
    stop();
    const auto fall = aFall("M-12");
    EXPECT_FALSE(worker.record(base::MeterId("M-12"), { { fall, {} } }, base::OperatorId("arlen")).outcome);
    start();
    ASSERT_FALSE(worker.contact().fault);
    const auto first = worker.record(base::MeterId("M-12"), { { fall, {} } }, base::OperatorId("arlen"));
    ASSERT_TRUE(first.outcome) << first.outcome.error().text;
    worker.close();
}

} // namespace
} // namespace mk::desktop
