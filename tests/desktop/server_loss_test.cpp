// SPDX-License-Identifier: GPL-3.0-or-later
// The window on a server that is really stopped and started again, while somebody works: what it says, and that it comes back.
#include "server_loss.h"

namespace mk::desktop {
namespace {

TEST_F(ServerLoss, MayKeepAsThePolicySays)
{
    EXPECT_EQ(mayKeep(), std::optional(true));
}

TEST_F(ServerLossOnPaper, MayNotKeepAsThePolicySays)
{
    EXPECT_EQ(mayKeep(), std::optional(false));
}

TEST_F(ServerLoss, ASecondConnectionIsToldOfEveryCommit)
{
    DeskWorker worker(windowOptions().desk);
    QSignalSpy told(&worker, &DeskWorker::committedSomewhere);
    ASSERT_TRUE(worker.board(base::WardId("W5")));
    record({ { aFall("M-12"), {} } });
    EXPECT_TRUE(QTest::qWaitFor([&] { return told.count() > 0; }, 1000)) << "without any poll";
    ASSERT_TRUE(worker.newHead());
    worker.close();
}

TEST_F(ServerLoss, AnotherWindowsActArrivesByItself)
{
    openOnBoard();
    ASSERT_NE(lineOf("M-12"), nullptr);
    const auto reasons = lineOf("M-12")->row.fitness.reasons.size();
    record({ { aFall("M-12"), {} } });
    EXPECT_TRUE(QTest::qWaitFor([&] { return lineOf("M-12")->row.fitness.reasons.size() > reasons; }, 1000));
}

TEST_F(ServerLoss, KeepsTheBoardWithItsAgeAndPromisesNothingBeyondIt)
{
    openOnBoard();
    m_now = wall("2026-11-17T14:05"); // M-11 may be used until the next morning
    m_window->setWard(base::WardId("W5"));
    ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->wardPage()->answer()->at == m_now; }, kPatience));
    ASSERT_TRUE(lineOf("M-11")->row.fitness.usable);
    stop();
    ASSERT_TRUE(saysLost());
    m_now = wall("2026-11-17T14:17");
    ASSERT_TRUE(
        QTest::qWaitFor([&] { return m_window->wardPage()->band().question.contains(QStringLiteral("12 minutes ago")); }, kPatience));
    EXPECT_TRUE(says(m_window.get(), QStringLiteral("as of 14:05, 12 minutes ago"))) << "where the time of the answer always stands";
    EXPECT_EQ(m_window->height(), 720) << "nothing moves for it";
    EXPECT_EQ(m_window->wardPage()->answer()->lines.size(), 2u);
    m_window->scan(QStringLiteral("M-11"));
    EXPECT_TRUE(m_window->wardPage()->band().answer.startsWith(QStringLiteral("As of 14:05")))
        << m_window->wardPage()->band().answer.toStdString();
    picture("lost-scanned");
    press(Qt::Key_Escape);
    EXPECT_TRUE(m_window->serverStrip()->isVisible()) << "Escape does not end a loss";
    picture("lost-with-board");
    m_now = wall("2026-11-18T20:00");
    ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->wardPage()->answer()->at == m_now; }, kPatience));
    m_window->scan(QStringLiteral("M-11"));
    const BandText band = m_window->wardPage()->band();
    EXPECT_TRUE(band.answer.startsWith(QStringLiteral("Not known"))) << band.answer.toStdString();
    EXPECT_FALSE(band.answer.contains(QStringLiteral("may be used")));
    picture("lost-too-long");
    start();
    ASSERT_TRUE(isBack());
    EXPECT_TRUE(QTest::qWaitFor([&] { return !m_window->wardPage()->answer()->asOf && !m_window->serverStrip()->isVisible(); }, kPatience));
}

TEST_F(ServerLoss, KeepsWhatWasTypedAndComesBackByItself)
{
    openOnBoard();
    openSheet("M-11");
    type("47");
    press(Qt::Key_Return);
    type("29");
    stop();
    ASSERT_TRUE(saysLost());
    EXPECT_EQ(m_window->page(), m_window->controlSheet());
    picture("lost-in-sheet");
    start();
    ASSERT_TRUE(isBack());
    EXPECT_EQ(m_window->controlSheet()->panel(Level::Low)->result(), QStringLiteral("47"));
    EXPECT_EQ(m_window->controlSheet()->panel(Level::High)->result(), QStringLiteral("29"));
    m_window->activateWindow();
    type("6");
    press(Qt::Key_Return);
    ASSERT_TRUE(verdictShown());
    EXPECT_FALSE(m_window->verdictPage()->outcome()->kept);
    ASSERT_TRUE(m_window->verdictPage()->outcome()->outcome) << m_window->verdictPage()->outcome()->outcome.error().text;
    EXPECT_EQ(runs().size(), 2u);
}

TEST_F(ServerLoss, SaysAtTheStartWhatIsTheMatterAndGoesOnByItself)
{
    stop();
    open();
    ASSERT_TRUE(
        QTest::qWaitFor([&] { return m_window->page()->band().answer == QStringLiteral("The server does not answer."); }, kPatience));
    EXPECT_TRUE(says(m_window->page(), QStringLiteral("It is tried again by itself")));
    picture("lost-at-start");
    start();
    EXPECT_TRUE(QTest::qWaitFor([&] { return m_window->page() == m_window->wardPage() && m_window->wardPage()->answer(); }, kPatience));
    EXPECT_FALSE(m_window->serverStrip()->isVisible());
}

TEST_F(ServerLossOnPaper, NothingIsKeptWhereThePolicySaysNoButWhatStandsInTheForm)
{
    openOnBoard();
    openSheet("M-11");
    type("47");
    press(Qt::Key_Return);
    stop();
    ASSERT_TRUE(saysLost());
    EXPECT_TRUE(m_window->serverStrip()->text().contains(QStringLiteral("paper form")));
    type("296");
    press(Qt::Key_Return);
    ASSERT_TRUE(QTest::qWaitFor(
        [&] { return says(m_window->controlSheet(), QStringLiteral("Not saved: the server is away. Use the paper form")); }, kPatience));
    EXPECT_EQ(m_window->page(), m_window->controlSheet());
    EXPECT_EQ(m_window->controlSheet()->panel(Level::High)->result(), QStringLiteral("296"));
    EXPECT_FALSE(store::Outbox::holdsSomething(windowOptions().desk.queueFolder, m_place));
    picture("not-kept");
    start();
    ASSERT_TRUE(isBack());
    EXPECT_EQ(runs().size(), 0u);
    m_window->controlSheet()->findChild<QPushButton*>(QStringLiteral("saveButton"))->click();
    ASSERT_TRUE(verdictShown());
    EXPECT_EQ(runs().size(), 2u);
}

TEST_F(ServerLoss, TheCommandLineKeepsNothingAndSaysSo)
{
    stop();
    QProcess program;
    program.start(QStringLiteral(MK_CLI), { QStringLiteral("--registry"), QString::fromStdString(m_place), QStringLiteral("board") });
    ASSERT_TRUE(program.waitForFinished(kPatience));
    EXPECT_EQ(program.exitCode(), 2);
    const QByteArray said = program.readAllStandardError();
    EXPECT_TRUE(said.contains("cannot be reached")) << said.toStdString();
    EXPECT_TRUE(said.contains("Nothing is kept here to be sent later")) << said.toStdString();
    EXPECT_EQ(said.count('\n'), 1) << said.toStdString();
}

} // namespace
} // namespace mk::desktop
