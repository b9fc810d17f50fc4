// SPDX-License-Identifier: GPL-3.0-or-later
#include "desk_fixture.h"

#include "desktop/pages/control_sheet.h"
#include "desktop/pages/incident_sheet.h"
#include "desktop/parts/level_panel.h"
#include "desktop/pages/meter_page.h"
#include "desktop/pages/verdict_page.h"
#include "desktop/pages/ward_page.h"

#include <QAccessible>
#include <QApplication>
#include <QLabel>
#include <QLineEdit>
#include <QTest>

#include <algorithm>

namespace mk::desktop {
namespace {

using registry::Level;

/// The real window on the real file, by keys alone.
class ControlJourney : public DeskFixture {
protected:
    void open(WindowOptions with)
    {
        m_window = std::make_unique<MainWindow>(std::move(with));
        m_window->resize(1280, 720);
        m_window->QWidget::show();
        m_window->activateWindow();
        ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->wardPage()->answer().has_value() && m_window->isActiveWindow(); }));
    }
    static void type(const char* text)
    {
        ASSERT_NE(QApplication::focusWidget(), nullptr);
        QTest::keyClicks(QApplication::focusWidget(), QString::fromLatin1(text));
    }
    static void press(Qt::Key key) { QTest::keyClick(QApplication::focusWidget(), key); }
    bool sheetReady() const
    {
        return m_window->page() == m_window->controlSheet() && m_window->controlSheet()->panel(Level::High) != nullptr;
    }
    /// Types a result of the other unit on M-11, and answers that the meter does show mmol/L.
    void sayThatLowShowsTheOtherUnit()
    {
        scanAndRun("M-11");
        type("3.4");
        press(Qt::Key_Return);
        LevelPanel* low = m_window->controlSheet()->panel(Level::Low);
        ASSERT_TRUE(low->isAsking());
        press(Qt::Key_Tab);
        EXPECT_TRUE(QTest::qWaitFor([&] {
            press(Qt::Key_Return);
            return !low->isAsking();
        }));
    }
    void scanAndRun(const char* meter)
    {
        type(meter);
        press(Qt::Key_Return);
        press(Qt::Key_F2);
        ASSERT_TRUE(QTest::qWaitFor([&] { return sheetReady(); }));
    }
    /// Read by another connection, as the file has it.
    std::string lastResultOnRecord() const
    {
        DeskWorker worker(options().desk);
        const auto board = worker.board(base::WardId("W5"));
        EXPECT_TRUE(board);
        return registry::toText(board->lines.front().row.history.newestSet->runs.back().run.result);
    }
    bool waitForVerdict() const
    {
        return QTest::qWaitFor([&] { return m_window->page() == m_window->verdictPage(); });
    }

    std::unique_ptr<MainWindow> m_window;
};

TEST_F(ControlJourney, AcceptsTwoLevelsFromScanToVerdict)
{
    open(options());
    scanAndRun("m-11");
    type("47"); // the cursor stands in the first result already
    press(Qt::Key_Return);
    type("296");
    press(Qt::Key_Return);
    ASSERT_TRUE(waitForVerdict());
    ASSERT_TRUE(m_window->verdictPage()->outcome()->outcome);
    EXPECT_TRUE(m_window->verdictPage()->outcome()->line->row.fitness.usable);
    EXPECT_EQ(m_window->verdictPage()->outcome()->runs.size(), 2u);
    press(Qt::Key_Return);
    EXPECT_EQ(m_window->page(), m_window->wardPage());
}

TEST_F(ControlJourney, StopsTheMeterOnAFailureAndRepeatsInTheSameSet)
{
    open(options());
    scanAndRun("M-11");
    type("47");
    press(Qt::Key_Return);
    type("362");
    press(Qt::Key_Return);
    ASSERT_TRUE(waitForVerdict());
    EXPECT_FALSE(m_window->verdictPage()->outcome()->line->row.fitness.usable);
    press(Qt::Key_Return);
    ASSERT_TRUE(QTest::qWaitFor([&] { return sheetReady(); }));
    EXPECT_TRUE(m_window->controlSheet()->panel(Level::Low)->isLocked());
    type("299");
    press(Qt::Key_Return);
    ASSERT_TRUE(waitForVerdict());
    const auto& runs = m_window->verdictPage()->outcome()->runs;
    ASSERT_EQ(runs.size(), 3u);
    EXPECT_EQ(runs.back().judged.attempt, 2);
    EXPECT_EQ(runs.front().run.set, runs.back().run.set);
}

TEST_F(ControlJourney, AsksWhichLevelAndAnswersNothingInTheFirstHalfSecond)
{
    open(options());
    scanAndRun("M-11");
    type("47");
    press(Qt::Key_Return);
    type("48");
    press(Qt::Key_Return);
    LevelPanel* high = m_window->controlSheet()->panel(Level::High);
    ASSERT_TRUE(high->isAsking());
    press(Qt::Key_Return); // a second Enter out of habit
    EXPECT_TRUE(high->isAsking());
    EXPECT_EQ(m_window->page(), m_window->controlSheet());
    EXPECT_TRUE(QTest::qWaitFor([&] {
        press(Qt::Key_Return);
        return !high->isAsking();
    }));
    ASSERT_TRUE(waitForVerdict());
    const auto& runs = m_window->verdictPage()->outcome()->runs;
    ASSERT_EQ(runs.size(), 2u);
    EXPECT_EQ(runs.back().run.level, Level::High);
    EXPECT_EQ(runs.back().run.question, "Was it the high or the low control?");
    EXPECT_EQ(runs.back().run.answer, "high");
}

TEST_F(ControlJourney, RecordsWhatWasTypedWhenOneLeaves)
{
    open(options());
    scanAndRun("M-11");
    type("78"); // out of range, and no Enter
    press(Qt::Key_Escape);
    ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->page() == m_window->wardPage(); }));
    EXPECT_EQ(lastResultOnRecord(), "78");
}

TEST_F(ControlJourney, RecordsWhatWasTypedWhenTheWindowIsClosed)
{
    open(options());
    scanAndRun("M-11");
    type("78");
    m_window->close();
    ASSERT_TRUE(QTest::qWaitFor([&] { return !m_window->isVisible(); }));
    EXPECT_EQ(lastResultOnRecord(), "78");
}

TEST_F(ControlJourney, FilesASwappedLevelWhereItBelongs)
{
    open(options());
    scanAndRun("M-11");
    type("296"); // the high control, typed for the low one
    press(Qt::Key_Return);
    LevelPanel* low = m_window->controlSheet()->panel(Level::Low);
    LevelPanel* high = m_window->controlSheet()->panel(Level::High);
    ASSERT_TRUE(low->isAsking());
    press(Qt::Key_Tab); // to the other answer
    EXPECT_TRUE(QTest::qWaitFor([&] {
        press(Qt::Key_Return);
        return !low->isAsking();
    }));
    EXPECT_EQ(low->result(), QString());
    EXPECT_EQ(high->result(), QStringLiteral("296"));
    low->focusResult();
    type("47");
    press(Qt::Key_Return);
    EXPECT_EQ(m_window->page(), m_window->controlSheet()) << "the vial of the moved result was not scanned yet";
    high->focusVial();
    type(high->vial().toUtf8().constData());
    press(Qt::Key_Return);
    ASSERT_TRUE(waitForVerdict());
    EXPECT_TRUE(m_window->verdictPage()->outcome()->line->row.fitness.usable);
    const auto& runs = m_window->verdictPage()->outcome()->runs;
    const auto filed = std::ranges::find(runs, Level::High, [](const registry::RunRecord& run) { return run.run.level; });
    ASSERT_NE(filed, runs.end());
    EXPECT_EQ(filed->run.question, "Was it the low or the high control?");
    EXPECT_EQ(filed->run.answer, "high");
}

/// source: handbook, story S15
TEST_F(ControlJourney, WithdrawsAMeterThatShowsTheWrongUnit)
{
    open(options());
    sayThatLowShowsTheOtherUnit();
    type("296");
    press(Qt::Key_Return);
    ASSERT_TRUE(waitForVerdict());
    ASSERT_TRUE(m_window->verdictPage()->outcome()->outcome) << m_window->verdictPage()->outcome()->outcome.error().text;
    EXPECT_EQ(m_window->verdictPage()->outcome()->line->row.fitness.state, registry::MeterState::Withdrawn);
}

TEST_F(ControlJourney, ForgetsTheOtherUnitWithTheResultThatShowedIt)
{
    open(options());
    sayThatLowShowsTheOtherUnit();
    m_window->controlSheet()->panel(Level::Low)->focusResult(); // misread, after all
    type("47");
    press(Qt::Key_Return);
    type("296");
    press(Qt::Key_Return);
    ASSERT_TRUE(waitForVerdict());
    ASSERT_TRUE(m_window->verdictPage()->outcome()->outcome) << m_window->verdictPage()->outcome()->outcome.error().text;
    EXPECT_EQ(m_window->verdictPage()->outcome()->line->row.fitness.state, registry::MeterState::InService);
    EXPECT_TRUE(m_window->verdictPage()->outcome()->line->row.fitness.usable);
}

TEST_F(ControlJourney, TakesTheTimeOfTheKeysAlsoWhereOneLeavesLater)
{
    open(options());
    scanAndRun("M-11");
    const base::Moment typed = m_now;
    type("78");
    m_now = base::plusMs(m_now, 7 * 60'000);
    press(Qt::Key_Escape);
    ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->page() == m_window->wardPage(); }));
    DeskWorker worker(options().desk);
    const auto board = worker.board(base::WardId("W5"));
    ASSERT_TRUE(board);
    EXPECT_EQ(board->lines.front().row.history.newestSet->runs.back().run.at, typed);
}

/// A scanner that aims at the wrong field: a meter's label is no result, whatever digits are in it.
TEST_F(ControlJourney, TakesNoScanForAResult)
{
    open(options());
    scanAndRun("M-11");
    type("M-12"); // all at once, as a scanner types
    press(Qt::Key_Return);
    LevelPanel* low = m_window->controlSheet()->panel(Level::Low);
    EXPECT_EQ(low->result(), QString());
    EXPECT_FALSE(m_window->controlSheet()->holdsResults());
    type("47");
    press(Qt::Key_Return);
    EXPECT_EQ(low->result(), QStringLiteral("47"));
    EXPECT_TRUE(m_window->controlSheet()->holdsResults());
}

TEST_F(ControlJourney, LeavesNoSheetWhileItIsBeingSaved)
{
    open(options());
    scanAndRun("M-11");
    type("47");
    press(Qt::Key_Return);
    type("296");
    press(Qt::Key_Return);
    ASSERT_EQ(m_window->page(), m_window->controlSheet()) << "the answer comes back through the event loop";
    press(Qt::Key_Return);
    m_window->openControl(QStringLiteral("M-12"));
    m_window->openIncident(QStringLiteral("M-12"));
    m_window->scan(QStringLiteral("M-12"));
    EXPECT_EQ(m_window->page(), m_window->controlSheet());
    ASSERT_TRUE(waitForVerdict());
    EXPECT_EQ(m_window->verdictPage()->outcome()->meter, base::MeterId("M-11"));
    EXPECT_EQ(m_window->verdictPage()->outcome()->runs.size(), 2u) << "once, however often Enter was pressed";
}

/// Two windows on one file: each sees the other's attempts, and the results of one set stand beside each other.
TEST_F(ControlJourney, SavesBesideAnotherWindowOnTheSameFile)
{
    open(options());
    scanAndRun("M-11");
    type("47");
    press(Qt::Key_Return);
    MainWindow other(options());
    other.QWidget::show();
    ASSERT_TRUE(QTest::qWaitFor([&] { return other.wardPage()->answer().has_value(); }));
    other.openControl(QStringLiteral("M-11"));
    ASSERT_TRUE(QTest::qWaitFor([&] { return other.controlSheet()->panel(Level::High) != nullptr; }));
    const auto resultOf = [](MainWindow& window, Level level) {
        return window.controlSheet()->panel(level)->findChild<QLineEdit*>(QStringLiteral("resultEdit"));
    };
    for (const auto& [level, value] : { std::pair(Level::Low, "46"), std::pair(Level::High, "362") }) {
        QTest::keyClicks(resultOf(other, level), QString::fromLatin1(value));
        QTest::keyClick(resultOf(other, level), Qt::Key_Return);
    }
    ASSERT_TRUE(QTest::qWaitFor([&] { return other.page() == other.verdictPage(); }));
    EXPECT_FALSE(other.verdictPage()->outcome()->line->row.fitness.usable);
    QTest::keyClicks(resultOf(*m_window, Level::High), QStringLiteral("296"));
    QTest::keyClick(resultOf(*m_window, Level::High), Qt::Key_Return);
    ASSERT_TRUE(waitForVerdict());
    ASSERT_TRUE(m_window->verdictPage()->outcome()->outcome) << m_window->verdictPage()->outcome()->outcome.error().text;
    EXPECT_EQ(m_window->verdictPage()->outcome()->runs.size(), 4u) << "none of them is lost";
}

TEST_F(ControlJourney, AsksWhoYouAreBeforeAnAct)
{
    WindowOptions nobody = options();
    nobody.person.reset();
    open(nobody);
    type("M-11");
    press(Qt::Key_Return);
    m_window->openControl(QStringLiteral("M-11"));
    EXPECT_EQ(m_window->page(), m_window->wardPage());
    EXPECT_TRUE(m_window->page()->band().answer.contains(QStringLiteral("who you are")));
    m_window->setPerson(base::OperatorId("arlen"));
    m_window->openControl(QStringLiteral("M-11"));
    EXPECT_EQ(m_window->page(), m_window->controlSheet());
}

TEST_F(ControlJourney, KeepsTheSheetWhenTheRegistryRefuses)
{
    open(options());
    scanAndRun("M-11");
    auto* strip = m_window->controlSheet()->findChild<QLineEdit*>(QStringLiteral("stripEdit"));
    strip->setFocus();
    strip->selectAll();
    type("NOBODY");
    LevelPanel* low = m_window->controlSheet()->panel(Level::Low);
    low->focusResult();
    type("47");
    press(Qt::Key_Return);
    m_window->controlSheet()->panel(Level::High)->focusResult();
    type("296");
    press(Qt::Key_Return);
    ASSERT_TRUE(
        QTest::qWaitFor([&] { return !m_window->controlSheet()->findChild<QLabel*>(QStringLiteral("problemLabel"))->text().isEmpty(); }));
    EXPECT_EQ(m_window->page(), m_window->controlSheet());
    EXPECT_EQ(low->result(), QStringLiteral("47"));
}

TEST_F(ControlJourney, ReportsAFallByKeys)
{
    open(options());
    type("M-11");
    press(Qt::Key_Return);
    press(Qt::Key_F3);
    ASSERT_EQ(m_window->page(), m_window->incidentSheet());
    auto* detail = m_window->incidentSheet()->findChild<QLineEdit*>(QStringLiteral("detailEdit"));
    detail->setFocus();
    type("fell from the trolley");
    press(Qt::Key_Return);
    ASSERT_TRUE(waitForVerdict());
    EXPECT_EQ(m_window->verdictPage()->outcome()->line->row.fitness.state, registry::MeterState::OnHold);
}

TEST_F(ControlJourney, OffersNoActsInThePast)
{
    WindowOptions past = options();
    past.desk.past = wall("2026-11-17T12:00");
    open(past);
    EXPECT_TRUE(m_window->wardPage()->bandActions().isEmpty());
    press(Qt::Key_F2);
    EXPECT_EQ(m_window->page(), m_window->wardPage());
    m_window->openControl(QStringLiteral("M-11"));
    EXPECT_EQ(m_window->page(), m_window->wardPage());
}

TEST_F(ControlJourney, OpensTheMetersPageAndStepsTableAndChartTogether)
{
    runSet("M-11", "M-11/b", "46", "301");
    open(options());
    type("M-11");
    press(Qt::Key_Return);
    press(Qt::Key_Return);
    ASSERT_EQ(m_window->page(), m_window->meterPage());
    ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->meterPage()->sets()->cells()->rowCount() == 2; }));
    const QString first = m_window->meterPage()->sets()->pickedId();
    press(Qt::Key_Down);
    EXPECT_NE(m_window->meterPage()->sets()->pickedId(), first);
    press(Qt::Key_Escape);
    EXPECT_EQ(m_window->page(), m_window->wardPage());
}

TEST_F(ControlJourney, GivesEveryFieldAName)
{
    open(options());
    scanAndRun("M-11");
    for (QLineEdit* edit : m_window->findChildren<QLineEdit*>()) {
        QAccessibleInterface* interface = QAccessible::queryAccessibleInterface(edit);
        ASSERT_NE(interface, nullptr);
        EXPECT_FALSE(interface->text(QAccessible::Name).isEmpty()) << qPrintable(edit->objectName());
    }
}

TEST_F(ControlJourney, SaysWhatIsMissingWithoutARegistry)
{
    WindowOptions none = options();
    none.desk.path = m_folder.filePath(QStringLiteral("none.mkr")).toStdString();
    m_window = std::make_unique<MainWindow>(none);
    m_window->QWidget::show();
    ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->page() != m_window->wardPage(); }));
    EXPECT_TRUE(m_window->page()->band().answer.contains(QStringLiteral("no registry")));
}

} // namespace
} // namespace mk::desktop
