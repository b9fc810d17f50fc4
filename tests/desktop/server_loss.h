// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

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

using registry::Level;
using support::PrivateServer;

inline constexpr int kPatience = 30'000; ///< for a server on a busy machine; nothing is measured

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
    /// What the board says of keeping while the server is away; nothing where there is no board.
    std::optional<bool> mayKeep() const
    {
        DeskWorker worker(windowOptions().desk);
        const auto board = worker.board(base::WardId("W5"));
        const auto said = board ? std::optional(board->mayKeep) : std::nullopt;
        worker.close();
        return said;
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

    static inline std::unique_ptr<PrivateServer> s_server;
    std::string m_place;
    bool m_mayKeep = true;
    store::OutboxKey m_key = store::OutboxKey::fresh();
    std::unique_ptr<MainWindow> m_window;
};

class ServerLossOnPaper : public ServerLoss {
protected:
    ServerLossOnPaper() { m_mayKeep = false; }
};

} // namespace mk::desktop
