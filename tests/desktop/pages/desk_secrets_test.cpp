// SPDX-License-Identifier: GPL-3.0-or-later
// The registry's thread asks for a password and waits; the window does not.
#include "desktop/pages/desk_secrets.h"
#include "store/db/address.h"

#include <QApplication>
#include <QDialog>
#include <QLineEdit>
#include <QTest>

#include <gtest/gtest.h>

#include <future>

namespace mk::desktop {
namespace {

QDialog* shownDialog()
{
    for (QWidget* top : QApplication::topLevelWidgets())
        if (auto* dialog = qobject_cast<QDialog*>(top); dialog != nullptr && dialog->isVisible())
            return dialog;
    return nullptr;
}

class DeskSecretsTest : public ::testing::Test {
protected:
    DeskSecretsTest()
    {
        qputenv("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nonexistent/bus"); // no key store here
        m_answer = std::async(std::launch::async,
            [source = m_secrets.passwordSource()] { return source(*store::Address::parse("postgresql://nurse@localhost/ward")); });
    }
    bool answered()
    {
        return QTest::qWaitFor([&] { return m_answer.wait_for(std::chrono::seconds(0)) == std::future_status::ready; });
    }
    DeskSecrets m_secrets;
    std::future<base::Result<std::string>> m_answer;
};

TEST_F(DeskSecretsTest, AsksInADialogWithoutShowingWhatIsTyped)
{
    ASSERT_TRUE(QTest::qWaitFor([] { return shownDialog() != nullptr; }));
    auto* edit = shownDialog()->findChild<QLineEdit*>(QStringLiteral("passwordEdit"));
    ASSERT_NE(edit, nullptr);
    EXPECT_EQ(edit->echoMode(), QLineEdit::Password);
    QTest::keyClicks(edit, QStringLiteral("lamp-post"));
    if (const QString folder = qEnvironmentVariable("MK_PICTURES"); !folder.isEmpty())
        shownDialog()->grab().save(folder + QStringLiteral("/password.png"));
    QTest::keyClick(edit, Qt::Key_Return);
    ASSERT_TRUE(answered());
    const auto password = m_answer.get();
    ASSERT_TRUE(password) << password.error().text;
    EXPECT_EQ(*password, "lamp-post");
}

TEST_F(DeskSecretsTest, TakesNoForAnAnswer)
{
    ASSERT_TRUE(QTest::qWaitFor([] { return shownDialog() != nullptr; }));
    QTest::keyClick(shownDialog(), Qt::Key_Escape);
    ASSERT_TRUE(answered());
    const auto password = m_answer.get();
    ASSERT_FALSE(password);
    EXPECT_EQ(password.error().kind, base::FaultKind::Denied);
}

TEST_F(DeskSecretsTest, LetsTheRegistrysThreadGoWhenTheWindowCloses)
{
    m_secrets.close();
    ASSERT_TRUE(answered());
    EXPECT_FALSE(m_answer.get());
}

} // namespace
} // namespace mk::desktop
