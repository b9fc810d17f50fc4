// SPDX-License-Identifier: GPL-3.0-or-later
// The window on a server that is really stopped and started again, while somebody works.
#include "desk_fixture.h"

#include "desktop/parts/cell_view.h"
#include "desktop/pages/control_sheet.h"
#include "desktop/pages/delivery_page.h"
#include "desktop/pages/empty_page.h"
#include "desktop/parts/frame_parts.h"
#include "desktop/pages/incident_sheet.h"
#include "desktop/parts/level_panel.h"
#include "desktop/pages/verdict_page.h"
#include "desktop/pages/ward_page.h"
#include "store/journal/act_codec.h"
#include "support/private_server.h"

#include <QApplication>
#include <QLabel>
#include <QLineEdit>
#include <QProcess>
#include <QPushButton>
#include <QSignalSpy>
#include <QTest>

namespace mk::desktop {
namespace {

using registry::Level;
using support::PrivateServer;

constexpr int kPatience = 30'000; ///< for a server on a busy machine; nothing is measured

class ServerLoss : public DeskFixture {
protected:
    static void SetUpTestSuite()
    {
        QString why;
        s_server = PrivateServer::start(PrivateServer::Disk::Fast, why);
        ASSERT_TRUE(s_server) << why.toStdString();
    }
    static void TearDownTestSuite() { s_server.reset(); }
    void SetUp() override
    {
        ASSERT_TRUE(s_server);
        if (s_server->mainProcess() == 0) {
            ASSERT_TRUE(s_server->startAgain());
        }
        m_place = s_server->address(s_server->newDatabase());
        DeskFixture::SetUp();
    }
    std::string place() const override { return m_place; }
    Settings settings() const override { return { { "record_offline", m_mayKeep ? "yes" : "no" } }; }
    WindowOptions windowOptions() const
    {
        WindowOptions with = options();
        with.desk.station = "W5-A";
        with.desk.queueFolder = m_folder.filePath(QStringLiteral("queue")).toStdString();
        with.desk.queueKeys = [key = m_key]() -> base::Result<std::vector<store::OutboxKey>> { return std::vector { key }; };
        return with;
    }
    void open()
    {
        m_window = std::make_unique<MainWindow>(windowOptions());
        m_window->resize(1280, 720);
        m_window->QWidget::show();
        m_window->activateWindow();
        ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->isActiveWindow(); }, kPatience));
    }
    void openOnBoard()
    {
        open();
        ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->wardPage()->answer().has_value(); }, kPatience));
    }
    void stop() { ASSERT_TRUE(s_server->stop(QStringLiteral("immediate"))); }
    void start() { ASSERT_TRUE(s_server->startAgain()); }
    bool saysLost() const
    {
        return QTest::qWaitFor([&] { return m_window->desk().isLost() && m_window->serverStrip()->isVisible(); }, kPatience);
    }
    bool isBack() const
    {
        return QTest::qWaitFor([&] { return !m_window->desk().isLost(); }, kPatience);
    }
    static void type(const char* text)
    {
        ASSERT_NE(QApplication::focusWidget(), nullptr);
        QTest::keyClicks(QApplication::focusWidget(), QString::fromLatin1(text));
    }
    static void press(Qt::Key key)
    {
        ASSERT_NE(QApplication::focusWidget(), nullptr);
        QTest::keyClick(QApplication::focusWidget(), key);
    }
    void openSheet(const char* meter)
    {
        m_window->openControl(QString::fromLatin1(meter));
        ASSERT_TRUE(QTest::qWaitFor(
            [&] { return m_window->controlSheet()->panel(Level::High) != nullptr && QApplication::focusWidget() != nullptr; }, kPatience));
    }
    /// Types both results; the second Enter saves.
    void typeBoth(const char* low, const char* high)
    {
        type(low);
        press(Qt::Key_Return);
        type(high);
        press(Qt::Key_Return);
    }
    bool verdictShown() const
    {
        return QTest::qWaitFor([&] { return m_window->page() == m_window->verdictPage(); }, kPatience);
    }
    bool says(const QWidget* widget, const QString& text) const
    {
        for (const auto* label : widget->findChildren<QLabel*>())
            if (label->isVisible() && label->text().contains(text))
                return true;
        return false;
    }
    /// The runs on record, by another connection.
    std::vector<store::Entry> runs()
    {
        std::vector<store::Entry> found;
        auto session = store::Session::open(m_place, store::Session::Access::ReadOnly);
        EXPECT_TRUE(session) << session.error().text;
        const auto head = store::headOf(**session);
        EXPECT_TRUE(head);
        for (std::int64_t seq = 1; seq <= head->seq.value; ++seq) {
            const auto entry = store::entryAt(**session, { seq });
            EXPECT_TRUE(entry && *entry);
            if ((*entry)->act == "control.run" && (*entry)->body.find("/a\"") == std::string::npos)
                found.push_back(**entry);
        }
        return found;
    }
    bool onRecord(std::size_t count)
    {
        return QTest::qWaitFor([&] { return runs().size() == count; }, kPatience);
    }
    const BoardLine* lineOf(const char* meter) const
    {
        for (const auto& line : m_window->wardPage()->answer()->lines)
            if (line.row.history.meter.act.meter == base::MeterId(meter))
                return &line;
        return nullptr;
    }
    /// For whoever wants to look: MK_PICTURES names a folder.
    void picture(const char* name) const
    {
        const QString folder = qEnvironmentVariable("MK_PICTURES");
        if (folder.isEmpty())
            return;
        QTest::qWait(100);
        m_window->grab().save(folder + QChar(u'/') + QString::fromLatin1(name) + QStringLiteral(".png"));
    }
    registry::acts::IncidentReported aFall(const char* meter) const
    {
        registry::acts::IncidentReported fall;
        fall.at = m_now;
        fall.noticedAt = m_now;
        fall.meter = base::MeterId(meter);
        fall.by = base::OperatorId("arlen");
        fall.what = registry::IncidentKind::Dropped;
        return fall;
    }

    static std::unique_ptr<PrivateServer> s_server;
    std::string m_place;
    bool m_mayKeep = true;
    store::OutboxKey m_key = store::OutboxKey::fresh();
    std::unique_ptr<MainWindow> m_window;
};
std::unique_ptr<PrivateServer> ServerLoss::s_server;

class ServerLossOnPaper : public ServerLoss {
protected:
    ServerLossOnPaper() { m_mayKeep = false; }
};

TEST_F(ServerLoss, MayKeepAsThePolicySays)
{
    DeskWorker worker(windowOptions().desk);
    const auto board = worker.board(base::WardId("W5"));
    ASSERT_TRUE(board);
    EXPECT_TRUE(board->mayKeep);
    worker.close();
}

TEST_F(ServerLossOnPaper, MayNotKeepAsThePolicySays)
{
    DeskWorker worker(windowOptions().desk);
    const auto board = worker.board(base::WardId("W5"));
    ASSERT_TRUE(board);
    EXPECT_FALSE(board->mayKeep);
    worker.close();
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
