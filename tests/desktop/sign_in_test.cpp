// SPDX-License-Identifier: GPL-3.0-or-later
#include "desk_fixture.h"

#include "desktop/pages/control_sheet.h"
#include "desktop/pages/meter_page.h"
#include "desktop/pages/sign_in_dialog.h"
#include "desktop/pages/ward_page.h"

#include <QApplication>
#include <QLineEdit>
#include <QTest>

namespace mk::desktop {
namespace {

constexpr const char* kRook = "kettle on the sill";

store::Secret typed(std::string text)
{
    return store::Secret::taken(text);
}

/// The ward with a coordinator, a nurse and an inspector who can sign in.
class SignInWindow : public DeskFixture {
protected:
    void SetUp() override
    {
        DeskFixture::SetUp();
        std::vector<store::NewAct> people;
        for (const auto& [id, role] : { std::pair("rook", registry::Role::Coordinator), std::pair("vane", registry::Role::Inspector) })
            people.push_back({ registry::Act(registry::acts::OperatorEnrolled { base::OperatorId(id), {}, role, {}, {} }), {} });
        record(std::move(people), base::OperatorId("rook"));
        onDesk([](store::SignInDesk& desk) {
            ASSERT_TRUE(desk.setUp(base::OperatorId("rook"), typed(kRook)));
            const auto admitted = desk.signIn(base::OperatorId("rook"), typed(kRook));
            ASSERT_TRUE(admitted);
            const store::Author rook { base::OperatorId("rook"), "test", admitted->signedIn };
            for (const char* person : { "arlen", "vane" })
                ASSERT_TRUE(desk.giveOut(rook, base::OperatorId(person), typed("905173")));
            ASSERT_TRUE(desk.replace(base::OperatorId("vane"), typed("905173"), typed("330719")));
        });
    }
    void onDesk(const std::function<void(store::SignInDesk&)>& what)
    {
        auto session = store::Session::open(options().desk.path, store::Session::Access::ReadWrite);
        ASSERT_TRUE(session) << session.error().text;
        auto registrar = store::Registrar::open(**session, clock());
        ASSERT_TRUE(registrar) << registrar.error().text;
        store::SignInDesk desk(**session, **registrar, clock(), "test");
        what(desk);
    }
    void arlenHasOwn()
    {
        onDesk([](store::SignInDesk& desk) { ASSERT_TRUE(desk.replace(base::OperatorId("arlen"), typed("905173"), typed("480517"))); });
    }
    template <typename A>
    std::vector<A> onRecord()
    {
        std::vector<A> found;
        auto session = store::Session::open(options().desk.path, store::Session::Access::ReadOnly);
        auto reader = store::Reader::open(**session);
        const auto facts = reader->template facts<A>();
        for (const auto& each : *facts)
            found.push_back(each.act);
        return found;
    }
    void open(WindowOptions with)
    {
        m_window = std::make_unique<MainWindow>(std::move(with));
        m_window->resize(1280, 720);
        m_window->QWidget::show();
        ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->wardPage()->answer().has_value() && dialog()->isVisible(); }));
    }
    SignInDialog* dialog() const { return m_window->signInDialog(); }
    void offer(const char* id, const char* secret)
    {
        dialog()->idField()->setText(QString::fromLatin1(id));
        dialog()->secretField()->clear();
        QTest::keyClicks(dialog()->secretField(), QString::fromLatin1(secret));
        QTest::keyClick(dialog()->secretField(), Qt::Key_Return);
    }
    bool gone() const
    {
        return QTest::qWaitFor([&] { return !dialog()->isVisible(); });
    }
    bool saysProblem() const
    {
        return QTest::qWaitFor([&] { return !dialog()->problem().isEmpty(); });
    }
    std::unique_ptr<MainWindow> m_window;
};

} // namespace

TEST_F(SignInWindow, AsksAtTheStartAndRecordsNothingUntilSomebodyIsIn)
{
    arlenHasOwn();
    open(options());
    EXPECT_EQ(dialog()->secretField()->echoMode(), QLineEdit::Password);
    offer("arlen", "111111");
    ASSERT_TRUE(saysProblem());
    EXPECT_TRUE(dialog()->isVisible());
    EXPECT_TRUE(dialog()->problem().contains(QStringLiteral("15 minutes"))) << dialog()->problem().toStdString();
    EXPECT_TRUE(dialog()->secretField()->text().isEmpty());
    const QString known = dialog()->problem();
    offer("nobody", "111111");
    ASSERT_TRUE(QTest::qWaitFor([&] { return onRecord<registry::acts::SignInFailed>().size() == 2; }));
    QTest::qWait(50);
    EXPECT_EQ(dialog()->problem(), known);

    dialog()->reject(); // look only
    m_window->openControl(QStringLiteral("M-11"));
    EXPECT_NE(m_window->page(), m_window->controlSheet());
    EXPECT_TRUE(dialog()->isVisible()) << "whoever records is asked again";
    offer("arlen", "480517");
    ASSERT_TRUE(gone());
    EXPECT_EQ(m_window->person(), base::OperatorId("arlen"));
    EXPECT_TRUE(dialog()->secretField()->text().isEmpty());
    m_window->openControl(QStringLiteral("M-11"));
    EXPECT_EQ(m_window->page(), m_window->controlSheet());
    EXPECT_EQ(onRecord<registry::acts::ShiftBegun>().size(), 1u);
}

TEST_F(SignInWindow, ANameFromTheListIsNoProof)
{
    arlenHasOwn();
    open(options());
    offer("arlen", "480517");
    ASSERT_TRUE(gone());
    m_window->setPerson(base::OperatorId("rook"));
    EXPECT_TRUE(dialog()->isVisible());
    EXPECT_EQ(dialog()->idField()->text(), QStringLiteral("rook"));
    EXPECT_EQ(m_window->person(), base::OperatorId("arlen")) << "until rook has shown it";
    offer("rook", kRook);
    ASSERT_TRUE(gone());
    EXPECT_EQ(m_window->person(), base::OperatorId("rook"));
    const auto ended = onRecord<registry::acts::ShiftEnded>();
    ASSERT_EQ(ended.size(), 1u);
    EXPECT_EQ(ended.front().by, base::OperatorId("arlen")) << "whoever was there before is signed off";
}

TEST_F(SignInWindow, ASecretThatWasGivenOutIsReplacedThereAndThen)
{
    open(options());
    offer("arlen", "905173");
    ASSERT_TRUE(QTest::qWaitFor([&] { return dialog()->newField()->isVisible(); }));
    QTest::keyClicks(dialog()->newField(), QStringLiteral("111111"));
    QTest::keyClicks(dialog()->againField(), QStringLiteral("111111"));
    QTest::keyClick(dialog()->againField(), Qt::Key_Return);
    ASSERT_TRUE(QTest::qWaitFor([&] { return dialog()->problem().contains(QStringLiteral("again and again")); }))
        << dialog()->problem().toStdString();
    QTest::keyClicks(dialog()->newField(), QStringLiteral("480517"));
    QTest::keyClicks(dialog()->againField(), QStringLiteral("480517"));
    QTest::keyClick(dialog()->againField(), Qt::Key_Return);
    ASSERT_TRUE(gone());
    onDesk([](store::SignInDesk& desk) {
        EXPECT_FALSE(desk.signIn(base::OperatorId("arlen"), typed("905173")));
        EXPECT_TRUE(desk.signIn(base::OperatorId("arlen"), typed("480517")));
    });
}

TEST_F(SignInWindow, WhatAnInspectorLooksAtGoesOnRecord)
{
    open(options());
    offer("vane", "330719");
    ASSERT_TRUE(gone());
    m_window->openMeter(QStringLiteral("M-11"));
    ASSERT_TRUE(QTest::qWaitFor([&] { return onRecord<registry::acts::RecordsShown>().size() >= 1; }));
    m_window->desk().askMeter(base::MeterId("M-11"));
    QTest::qWait(100);
    int meters = 0;
    for (const auto& shown : onRecord<registry::acts::RecordsShown>()) {
        EXPECT_EQ(shown.by, base::OperatorId("vane"));
        meters += shown.what == "meter M-11" ? 1 : 0;
    }
    EXPECT_EQ(meters, 1) << "the same page again is not another view";
}

} // namespace mk::desktop
