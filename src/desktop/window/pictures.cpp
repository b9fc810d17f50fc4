// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/window/pictures.h"

#include "desktop/pages/control_sheet.h"
#include "desktop/parts/frame_parts.h"
#include "desktop/pages/incident_sheet.h"
#include "desktop/parts/level_panel.h"
#include "desktop/pages/meter_page.h"
#include "desktop/pages/verdict_page.h"
#include "desktop/pages/ward_page.h"

#include <QApplication>
#include <QDir>
#include <QElapsedTimer>
#include <QEventLoop>
#include <QFile>
#include <QKeyEvent>
#include <QTemporaryDir>
#include <QTimer>

#include <functional>

namespace mk::desktop {

namespace {

constexpr int kWidth = 1280, kHeight = 720;
constexpr int kMostWaitMs = 10'000;

/// Lets the window work until something is so, or too long has passed.
bool waitUntil(const std::function<bool()>& so)
{
    QElapsedTimer waited;
    waited.start();
    QEventLoop loop;
    while (!so() && waited.elapsed() < kMostWaitMs) {
        QTimer::singleShot(10, &loop, &QEventLoop::quit);
        loop.exec();
    }
    // Once more round, so that layouts settle.
    QTimer::singleShot(30, &loop, &QEventLoop::quit);
    loop.exec();
    return so();
}

class Photographer {
public:
    Photographer(WindowOptions options, QString folder, QString registry)
        : m_options(std::move(options)),
          m_folder(std::move(folder)),
          m_registry(std::move(registry))
    {
        m_theme = m_options.theme == Theme::Light ? QStringLiteral("light") : QStringLiteral("dark");
    }

    QString run()
    {
        if (!QFile::exists(m_registry)) {
            MainWindow window(optionsFor(m_registry));
            open(window);
            waitUntil([&] { return window.page() != window.wardPage(); });
            grab(window, "empty");
            return m_problem;
        }
        QTemporaryDir folder;
        const QString copy = folder.filePath(QStringLiteral("copy.mkr"));
        if (!folder.isValid() || !QFile::copy(m_registry, copy))
            return QObject::tr("The registry cannot be copied for the pictures.");
        takeAll(copy);
        takePast(copy);
        takeMissing(folder.filePath(QStringLiteral("none.mkr")));
        return m_problem;
    }

private:
    WindowOptions optionsFor(const QString& path) const
    {
        WindowOptions options = m_options;
        options.desk.path = path.toStdString();
        if (options.desk.past) {
            const std::int64_t clock = options.desk.past->utcMs;
            options.desk.clock = [clock] { return clock; };
            options.desk.past.reset();
        }
        return options;
    }

    static void open(MainWindow& window)
    {
        window.resize(kWidth, kHeight);
        window.QWidget::show();
        window.activateWindow();
    }

    void grab(MainWindow& window, const char* screen)
    {
        const QString path
            = QStringLiteral("%1/%2-%3-%4x%5.png").arg(m_folder, QString::fromLatin1(screen), m_theme).arg(kWidth).arg(kHeight);
        if (!window.grab().save(path))
            m_problem = QObject::tr("The picture %1 cannot be written.").arg(path);
    }

    void takeAll(const QString& path)
    {
        MainWindow window(optionsFor(path));
        open(window);
        WardPage* ward = window.wardPage();
        if (!waitUntil([&] { return ward->answer().has_value(); }))
            return;
        if (!m_options.person && !ward->answer()->people.empty())
            window.setPerson(ward->answer()->people.front().id);
        waitUntil([&] { return true; });
        grab(window, "ward");
        if (window.minimumSizeHint().width() > kWidth || window.minimumSizeHint().height() > kHeight)
            m_problem = QObject::tr("The window does not fit into %1x%2: it needs %3x%4.")
                            .arg(kWidth)
                            .arg(kHeight)
                            .arg(window.minimumSizeHint().width())
                            .arg(window.minimumSizeHint().height());
        const auto chosen = ward->answer()->ward;
        window.setWard(std::nullopt);
        waitUntil([&] { return !ward->answer()->ward; });
        grab(window, "all-wards");
        window.setWard(chosen);
        waitUntil([&] { return ward->answer()->ward == chosen; });
        window.openWall();
        waitUntil([&] { return true; });
        grab(window, "wall");
        QKeyEvent any(QEvent::KeyPress, Qt::Key_Space, Qt::NoModifier);
        QApplication::sendEvent(QApplication::focusWidget() != nullptr ? QApplication::focusWidget() : &window, &any);
        if (ward->answer()->lines.empty())
            return;
        const QString usable = meterThat(*ward->answer(), true);
        window.scan(usable);
        waitUntil([&] { return true; });
        grab(window, "scanned");
        window.openMeter(usable);
        waitUntil([&] { return window.meterPage()->sets()->cells()->rowCount() > 0; });
        grab(window, "meter");
        if (const QString stopped = meterThat(*ward->answer(), false); !stopped.isEmpty()) {
            window.openMeter(stopped);
            waitUntil([&] { return window.meterPage()->sets()->cells()->rowCount() > 0; });
            grab(window, "meter-stopped");
        }
        window.openIncident(usable);
        waitUntil([&] { return true; });
        grab(window, "incident");
        takeControl(window, usable);
    }

    void takeControl(MainWindow& window, const QString& meter)
    {
        ControlSheet* sheet = window.controlSheet();
        window.openControl(meter);
        if (!waitUntil([&] { return sheet->panel(registry::Level::Low) != nullptr && sheet->panel(registry::Level::High) != nullptr; }))
            return;
        grab(window, "control");
        LevelPanel* low = sheet->panel(registry::Level::Low);
        LevelPanel* high = sheet->panel(registry::Level::High);
        low->setResult(QStringLiteral("47"));
        emit low->resultCommitted(registry::Level::Low);
        high->setResult(QStringLiteral("36"));
        waitUntil([&] { return true; });
        grab(window, "control-typing");
        high->setResult(QStringLiteral("48"));
        emit high->resultCommitted(registry::Level::High);
        waitUntil([&] { return true; });
        grab(window, "control-question");
        high->setResult(QStringLiteral("362"));
        emit high->resultTouched(registry::Level::High);
        emit high->resultCommitted(registry::Level::High);
        waitUntil([&] { return window.page() == window.verdictPage(); });
        grab(window, "verdict-failed");
        emit window.verdictPage()->repeatAsked();
        waitUntil([&] { return sheet->panel(registry::Level::High) != nullptr && window.page() == sheet; });
        grab(window, "control-repeat");
        if (LevelPanel* repeat = sheet->panel(registry::Level::High)) {
            repeat->setResult(QStringLiteral("296"));
            emit repeat->resultCommitted(registry::Level::High);
            waitUntil([&] { return window.page() == window.verdictPage(); });
            grab(window, "verdict-accepted");
        }
    }

    void takePast(const QString& path)
    {
        if (!m_options.desk.past)
            return;
        WindowOptions options = m_options;
        options.desk.path = path.toStdString();
        MainWindow window(options);
        open(window);
        waitUntil([&] { return window.wardPage()->answer().has_value(); });
        grab(window, "past");
    }

    void takeMissing(const QString& path)
    {
        MainWindow window(optionsFor(path));
        open(window);
        waitUntil([&] { return window.page() != window.wardPage(); });
        grab(window, "empty");
    }

    static QString meterThat(const BoardAnswer& answer, bool usable)
    {
        for (const auto& line : answer.lines)
            if (line.row.fitness.usable == usable && line.row.history.newestSet)
                return QString::fromStdString(line.row.history.meter.act.meter.value);
        return usable ? QString::fromStdString(answer.lines.front().row.history.meter.act.meter.value) : QString();
    }

    WindowOptions m_options;
    QString m_folder, m_registry, m_theme, m_problem;
};

} // namespace

QString takePictures(QApplication& application, const WindowOptions& options, const QString& folder)
{
    if (!QDir().mkpath(folder))
        return QObject::tr("The folder %1 cannot be made.").arg(folder);
    for (const Theme theme : { Theme::Light, Theme::Dark }) {
        dress(application, theme);
        WindowOptions themed = options;
        themed.theme = theme;
        if (const QString problem = Photographer(themed, folder, QString::fromStdString(options.desk.path)).run(); !problem.isEmpty())
            return problem;
    }
    return {};
}

} // namespace mk::desktop
