// SPDX-License-Identifier: GPL-3.0-or-later
// SEC-02: whoever is signed in and touches nothing is signed off; what was begun is lost to nobody silently.
#include "desk_fixture.h"

#include "desktop/pages/control_sheet.h"
#include "desktop/parts/frame_parts.h"
#include "desktop/pages/incident_sheet.h"
#include "desktop/pages/sign_in_dialog.h"
#include "desktop/pages/verdict_page.h"
#include "desktop/pages/ward_page.h"
#include "desktop/parts/level_panel.h"

#include <QApplication>
#include <QLabel>
#include <QLineEdit>
#include <QTest>

namespace mk::desktop {
namespace {

store::Secret spoken(std::string text)
{
    return store::Secret::taken(text);
}

/// The ward with a coordinator and a nurse who can sign in, and a clock of touches that stands still until a test moves it.
class SignOff : public DeskFixture {
protected:
    Settings settings() const override { return { { "auto_logoff_minutes", "10" } }; }
    void SetUp() override
    {
        DeskFixture::SetUp();
        record({ { registry::Act(registry::acts::OperatorEnrolled { base::OperatorId("rook"), {}, registry::Role::Coordinator, {}, {} }),
                   {} } },
            base::OperatorId("rook"));
        {
            auto session = store::Session::open(DeskFixture::options().desk.path, store::Session::Access::ReadWrite);
            ASSERT_TRUE(session) << session.error().text;
            auto registrar = store::Registrar::open(**session, clock());
            ASSERT_TRUE(registrar) << registrar.error().text;
            store::SignInDesk desk(**session, **registrar, clock(), "test");
            ASSERT_TRUE(desk.setUp(base::OperatorId("rook"), spoken("kettle on the sill")));
            const auto rook = desk.signIn(base::OperatorId("rook"), spoken("kettle on the sill"));
            ASSERT_TRUE(rook);
            ASSERT_TRUE(desk.giveOut({ base::OperatorId("rook"), "test", rook->signedIn }, base::OperatorId("arlen"), spoken("905173")));
            ASSERT_TRUE(desk.replace(base::OperatorId("arlen"), spoken("905173"), spoken("480517")));
        }
        WindowOptions options = DeskFixture::options();
        options.person.reset();
        options.idleClock = [this] { return m_touches; };
        m_window = std::make_unique<MainWindow>(std::move(options));
        m_window->resize(1280, 720);
        m_window->QWidget::show();
        ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->wardPage()->answer().has_value() && dialog()->isVisible(); }));
        signIn("arlen", "480517");
    }
    SignInDialog* dialog() const { return m_window->signInDialog(); }
    void signIn(const char* id, const char* secret)
    {
        dialog()->idField()->setText(QString::fromLatin1(id));
        dialog()->secretField()->clear();
        QTest::keyClicks(dialog()->secretField(), QString::fromLatin1(secret));
        QTest::keyClick(dialog()->secretField(), Qt::Key_Return);
        ASSERT_TRUE(QTest::qWaitFor([&] { return !dialog()->isVisible(); }));
    }
    /// Nobody touches anything for so long.
    void pass(std::int64_t seconds)
    {
        m_touches += seconds * 1000;
        m_window->lookForInput();
    }
    /// Does the key line say to that person that they are signed off soon?
    bool warns(const QString& name) const
    {
        const auto labels = m_window->findChild<KeyLine*>()->findChildren<QLabel*>();
        return std::ranges::any_of(labels, [&](const QLabel* label) { return label->text().contains(name); });
    }
    ControlSheet* openSheet()
    {
        m_window->openControl(QStringLiteral("M-11"));
        ControlSheet* sheet = m_window->controlSheet();
        m_window->activateWindow();
        EXPECT_TRUE(QTest::qWaitFor([&] { return sheet->panel(registry::Level::High) != nullptr && m_window->isActiveWindow(); }));
        return sheet;
    }
    QLineEdit* resultOf(registry::Level level) const
    {
        return m_window->controlSheet()->panel(level)->findChild<QLineEdit*>(QStringLiteral("resultEdit"));
    }
    void type(registry::Level level, const char* keys)
    {
        resultOf(level)->setFocus();
        QTest::keyClicks(resultOf(level), QString::fromLatin1(keys));
    }
    void enter(registry::Level level) { QTest::keyClick(resultOf(level), Qt::Key_Return); }
    /// Signed off, and everything that was sent before it is written or refused.
    bool isOver(std::size_t sessions = 1)
    {
        const bool ended = QTest::qWaitFor([&] { return onRecord<registry::acts::ShiftEnded>().size() == sessions; });
        QTest::qWait(50);
        return ended;
    }
    /// Of the newest set of M-11; the fixture's own was run the day before.
    std::vector<registry::acts::ControlRun> runsSinceYesterday()
    {
        std::vector<registry::acts::ControlRun> runs;
        auto session = store::Session::open(DeskFixture::options().desk.path, store::Session::Access::ReadOnly);
        auto reader = store::Reader::open(**session);
        const auto sets = reader->newestSets(base::MeterId("M-11"), wall("2026-11-18T09:00"), 8);
        EXPECT_TRUE(sets);
        for (const auto& set : *sets)
            for (const auto& run : set.runs)
                if (run.run.at > wall("2026-11-18T00:00"))
                    runs.push_back(run.run);
        return runs;
    }
    template <typename A>
    std::vector<A> onRecord()
    {
        std::vector<A> found;
        auto session = store::Session::open(DeskFixture::options().desk.path, store::Session::Access::ReadOnly);
        auto reader = store::Reader::open(**session);
        const auto facts = reader->template facts<A>();
        for (const auto& each : *facts)
            found.push_back(each.act);
        return found;
    }

    std::int64_t m_touches = 0;
    std::unique_ptr<MainWindow> m_window;
};

} // namespace

TEST_F(SignOff, ComesAfterThePolicysMinutesWithoutAKeyOrATouch)
{
    pass(10 * 60 - 1);
    EXPECT_FALSE(dialog()->isVisible());
    pass(1);
    EXPECT_TRUE(dialog()->isVisible());
    EXPECT_EQ(m_window->page(), m_window->wardPage());
    ASSERT_TRUE(QTest::qWaitFor([&] { return onRecord<registry::acts::ShiftEnded>().size() == 1; }));
    EXPECT_EQ(onRecord<registry::acts::ShiftEnded>().front().by, base::OperatorId("arlen"));
    dialog()->reject();
    m_window->openControl(QStringLiteral("M-11"));
    EXPECT_NE(m_window->page(), m_window->controlSheet());
    EXPECT_TRUE(dialog()->isVisible()) << "nobody is signed in any more";
}

TEST_F(SignOff, AKeyAfterTheWarningKeepsThePersonSignedIn)
{
    const QString name = QStringLiteral("D. Arlen");
    pass(10 * 60 - 60);
    EXPECT_FALSE(warns(name));
    pass(50);
    EXPECT_FALSE(dialog()->isVisible());
    EXPECT_TRUE(warns(name));
    QTest::keyClick(m_window.get(), Qt::Key_Shift);
    pass(60);
    EXPECT_FALSE(dialog()->isVisible());
    EXPECT_FALSE(warns(name));
    EXPECT_EQ(m_window->person(), base::OperatorId("arlen"));
    pass(9 * 60);
    EXPECT_TRUE(dialog()->isVisible());
}

TEST_F(SignOff, ACommittedResultGoesOnRecordWithItsOwnTime)
{
    using registry::Level;
    ControlSheet* sheet = openSheet();
    const base::Moment typed = m_now;
    type(Level::Low, "47");
    enter(Level::Low);
    ASSERT_TRUE(sheet->holdsResults());
    m_now = base::plusMs(m_now, 10 * 60'000);
    pass(10 * 60);
    EXPECT_TRUE(dialog()->isVisible());
    ASSERT_TRUE(isOver());
    const auto runs = runsSinceYesterday();
    ASSERT_EQ(runs.size(), 1u);
    EXPECT_EQ(runs.front().by, base::OperatorId("arlen"));
    EXPECT_EQ(runs.front().at, typed);
    EXPECT_FALSE(sheet->holdsResults()) << "it is on record, and nothing is left to save";
}

TEST_F(SignOff, AFieldThatWasLeftIsCommittedWithTheTimeOfItsKeys)
{
    using registry::Level;
    openSheet();
    const base::Moment typed = m_now;
    type(Level::Low, "47");
    resultOf(Level::High)->setFocus(Qt::TabFocusReason);
    m_now = base::plusMs(m_now, 10 * 60'000);
    pass(10 * 60);
    ASSERT_TRUE(isOver());
    const auto runs = runsSinceYesterday();
    ASSERT_EQ(runs.size(), 1u);
    EXPECT_EQ(runs.front().at, typed);
}

TEST_F(SignOff, WhatIsHalfTypedIsNoResultAndWaitsWithTheSheet)
{
    using registry::Level;
    ControlSheet* sheet = openSheet();
    type(Level::Low, "47");
    enter(Level::Low);
    type(Level::High, "29"); // of 296
    m_now = base::plusMs(m_now, 10 * 60'000);
    pass(10 * 60);
    ASSERT_TRUE(isOver());
    ASSERT_EQ(runsSinceYesterday().size(), 1u);
    EXPECT_EQ(runsSinceYesterday().front().level, Level::Low);
    EXPECT_EQ(m_window->page(), m_window->wardPage());
    signIn("arlen", "480517");
    ASSERT_EQ(m_window->page(), sheet);
    EXPECT_TRUE(sheet->panel(Level::Low)->isLocked());
    EXPECT_EQ(sheet->panel(Level::High)->result(), QStringLiteral("29"));
    resultOf(Level::High)->setCursorPosition(2);
    type(Level::High, "6");
    enter(Level::High);
    ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->page() == m_window->verdictPage(); }));
    const auto runs = runsSinceYesterday();
    ASSERT_EQ(runs.size(), 2u);
    EXPECT_EQ(runs.front().set, runs.back().set);
    EXPECT_TRUE(m_window->verdictPage()->outcome()->line->row.fitness.usable);
}

TEST_F(SignOff, WhatIsHalfTypedIsShownToNobodyElse)
{
    using registry::Level;
    ControlSheet* sheet = openSheet();
    type(Level::Low, "4"); // of 47
    pass(10 * 60);
    ASSERT_TRUE(isOver());
    EXPECT_TRUE(runsSinceYesterday().empty());
    signIn("rook", "kettle on the sill");
    EXPECT_EQ(m_window->page(), m_window->wardPage());
    const QString said = m_window->wardPage()->band().answer;
    EXPECT_TRUE(said.contains(QStringLiteral("D. Arlen")) && said.contains(QStringLiteral("M-11"))) << qPrintable(said);
    m_window->lookForInput();
    EXPECT_FALSE(sheet->holdsResults());
    EXPECT_TRUE(runsSinceYesterday().empty());
}

class SignOffRefused : public SignOff {
protected:
    /// Both results are committed, and the registry takes neither: the strip vial is on no record.
    void leaveWhatIsRefused()
    {
        ControlSheet* sheet = openSheet();
        auto* strip = sheet->findChild<QLineEdit*>(QStringLiteral("stripEdit"));
        strip->setFocus();
        strip->selectAll();
        QTest::keyClicks(strip, QStringLiteral("NOBODY"));
        type(registry::Level::Low, "47");
        enter(registry::Level::Low);
        pass(10 * 60);
        ASSERT_TRUE(isOver());
    }
};

TEST_F(SignOffRefused, StaysOnTheWardAndSaysSo)
{
    leaveWhatIsRefused();
    EXPECT_EQ(m_window->page(), m_window->wardPage()) << "nobody is signed in";
    EXPECT_TRUE(m_window->wardPage()->band().answer.contains(QStringLiteral("NOBODY")));
    EXPECT_TRUE(runsSinceYesterday().empty());
}

TEST_F(SignOffRefused, KeepsTheSheetForItsWriter)
{
    leaveWhatIsRefused();
    signIn("arlen", "480517");
    ASSERT_EQ(m_window->page(), m_window->controlSheet());
    EXPECT_EQ(m_window->controlSheet()->panel(registry::Level::Low)->result(), QStringLiteral("47"));
    EXPECT_TRUE(m_window->controlSheet()->holdsResults());
}

TEST_F(SignOffRefused, ShowsTheSheetToNobodyElse)
{
    leaveWhatIsRefused();
    signIn("rook", "kettle on the sill");
    EXPECT_EQ(m_window->page(), m_window->wardPage());
    EXPECT_TRUE(m_window->wardPage()->band().answer.contains(QStringLiteral("M-11")));
    EXPECT_FALSE(m_window->controlSheet()->holdsResults());
}

/// Somebody else comes while the sheet stands open: it is left as if its writer had been signed off.
TEST_F(SignOff, WhoeverComesInBetweenDoesNotTakeTheSheetOver)
{
    using registry::Level;
    ControlSheet* sheet = openSheet();
    type(Level::Low, "47");
    enter(Level::Low);
    type(Level::High, "2");
    m_window->setPerson(base::OperatorId("rook"));
    ASSERT_TRUE(dialog()->isVisible());
    signIn("rook", "kettle on the sill");
    QTest::qWait(50);
    EXPECT_EQ(m_window->page(), m_window->wardPage());
    ASSERT_EQ(runsSinceYesterday().size(), 1u);
    EXPECT_EQ(runsSinceYesterday().front().by, base::OperatorId("arlen"));
    EXPECT_FALSE(sheet->holdsResults());
}

TEST_F(SignOff, AReportThatWasBegunWaitsForItsWriterAlone)
{
    m_window->openIncident(QStringLiteral("M-11"));
    ASSERT_EQ(m_window->page(), m_window->incidentSheet());
    pass(10 * 60);
    EXPECT_EQ(m_window->page(), m_window->wardPage()) << "behind the question nobody reads it";
    signIn("arlen", "480517");
    EXPECT_EQ(m_window->page(), m_window->incidentSheet());
    pass(10 * 60);
    signIn("rook", "kettle on the sill");
    EXPECT_EQ(m_window->page(), m_window->wardPage());
    EXPECT_TRUE(onRecord<registry::acts::IncidentReported>().empty());
    pass(10 * 60);
    signIn("arlen", "480517");
    EXPECT_EQ(m_window->page(), m_window->wardPage()) << "it was said that it is gone";
}

} // namespace mk::desktop
