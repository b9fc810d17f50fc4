// SPDX-License-Identifier: GPL-3.0-or-later
// SEC-02: whoever is signed in and touches nothing is signed off; what was begun is lost to nobody silently.
#include "desk_fixture.h"

#include "desktop/pages/control_sheet.h"
#include "desktop/pages/incident_sheet.h"
#include "desktop/pages/sign_in_dialog.h"
#include "desktop/pages/ward_page.h"
#include "desktop/parts/level_panel.h"

#include <QApplication>
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
    pass(10 * 60 - 10);
    EXPECT_FALSE(dialog()->isVisible());
    QTest::keyClick(m_window.get(), Qt::Key_Shift);
    pass(60);
    EXPECT_FALSE(dialog()->isVisible());
    EXPECT_EQ(m_window->person(), base::OperatorId("arlen"));
    pass(9 * 60);
    EXPECT_TRUE(dialog()->isVisible());
}

TEST_F(SignOff, AResultThatWasTypedGoesOnRecordByWhoeverTypedIt)
{
    m_window->openControl(QStringLiteral("M-11"));
    ControlSheet* sheet = m_window->controlSheet();
    ASSERT_TRUE(QTest::qWaitFor([&] { return sheet->panel(registry::Level::Low) != nullptr; }));
    QTest::qWait(50);
    sheet->panel(registry::Level::Low)->setResult(QStringLiteral("47"));
    ASSERT_TRUE(sheet->holdsResults());
    pass(10 * 60);
    EXPECT_TRUE(dialog()->isVisible());
    // The session ends behind the run, so the run is there when its end is.
    ASSERT_TRUE(QTest::qWaitFor([&] { return onRecord<registry::acts::ShiftEnded>().size() == 1; }));
    auto session = store::Session::open(DeskFixture::options().desk.path, store::Session::Access::ReadOnly);
    auto reader = store::Reader::open(**session);
    const auto sets = reader->newestSets(base::MeterId("M-11"), wall("2026-11-18T08:00"), 8);
    ASSERT_TRUE(sets);
    ASSERT_EQ(sets->size(), 2u);
    ASSERT_EQ(sets->front().runs.size(), 1u);
    EXPECT_EQ(sets->front().runs.front().run.by, base::OperatorId("arlen"));
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
