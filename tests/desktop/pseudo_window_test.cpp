// SPDX-License-Identifier: GPL-3.0-or-later
// Every page of the window in the language that nobody speaks: a text that is not marked as translated escaped it, in a label, a cell, a
// picture that a widget paints by itself, or what a screen reader says. It is longer by a third, too: nothing is cut for it.
#include "desktop/pages/control_sheet.h"
#include "desktop/pages/meter_page.h"
#include "desktop/pages/verdict_page.h"
#include "desktop/pages/ward_page.h"
#include "desktop/parts/level_panel.h"
#include "desktop/desk_fixture.h"
#include "desktop/room.h"
#include "support/escaped_text.h"
#include "words/pseudo_language.h"

#include <QAbstractItemView>
#include <QAccessible>
#include <QApplication>
#include <QBuffer>
#include <QSvgGenerator>
#include <QTest>
#include <QXmlStreamReader>

#include <memory>

namespace mk::desktop {
namespace {

class PseudoWindow : public DeskFixture {
protected:
    void SetUp() override
    {
        DeskFixture::SetUp();
        QCoreApplication::installTranslator(&m_language);
        m_window = std::make_unique<MainWindow>(options());
        m_window->resize(1280, 720);
        m_window->QWidget::show();
        m_window->activateWindow();
        ASSERT_TRUE(QTest::qWaitFor([this] { return m_window->wardPage()->answer().has_value(); }));
    }
    void TearDown() override
    {
        m_window.reset();
        QCoreApplication::removeTranslator(&m_language);
    }

    /// What one widget draws by itself, without the widgets in it.
    static QString drawnBy(QWidget& widget)
    {
        if (widget.size().isEmpty())
            return {};
        QBuffer picture;
        QSvgGenerator generator;
        generator.setOutputDevice(&picture);
        generator.setSize(widget.size());
        widget.render(&generator, QPoint(), QRegion(), QWidget::RenderFlags());
        QXmlStreamReader reader(picture.data());
        QString texts;
        while (!reader.atEnd())
            if (reader.readNext() == QXmlStreamReader::StartElement && reader.name() == QLatin1String("text"))
                texts += reader.readElementText();
        return texts;
    }

    void expectNothingEscapes(const char* page)
    {
        static const QSet<QString> data { QStringLiteral("Surgery"), QStringLiteral("D"), QStringLiteral("Arlen"),
            QStringLiteral("D.Arlen"), QStringLiteral("arlen") };
        QTest::qWait(50);
        expectRoom(*m_window, page, { 1280, 720 });
        QSet<QString> told;
        for (QWidget* widget : m_window->findChildren<QWidget*>()) {
            if (!widget->isVisible())
                continue;
            QStringList texts { drawnBy(*widget), widget->toolTip() };
            if (QAccessibleInterface* spoken = QAccessible::queryAccessibleInterface(widget))
                texts << spoken->text(QAccessible::Name) << spoken->text(QAccessible::Description);
            if (const auto* view = qobject_cast<QAbstractItemView*>(widget); view != nullptr && view->model() != nullptr)
                for (int row = 0; row < view->model()->rowCount(); ++row)
                    for (int column = 0; column < view->model()->columnCount(); ++column)
                        for (const int role : { int(Qt::DisplayRole), int(Qt::AccessibleTextRole), int(Qt::ToolTipRole) })
                            texts << view->model()->index(row, column).data(role).toString();
            for (const QString& text : texts)
                for (const QString& word : support::escapedIn(text, data))
                    if (!told.contains(word)) {
                        told.insert(word);
                        ADD_FAILURE() << page << ": '" << word.toStdString() << "' escaped translation in \"" << text.toStdString()
                                      << "\" (" << widget->metaObject()->className() << " " << widget->objectName().toStdString() << ")";
                    }
        }
    }

    words::PseudoLanguage m_language;
    std::unique_ptr<MainWindow> m_window;
};

TEST_F(PseudoWindow, Ward)
{
    expectNothingEscapes("ward");
}

TEST_F(PseudoWindow, MeterPage)
{
    m_window->openMeter(QStringLiteral("M-11"));
    ASSERT_TRUE(QTest::qWaitFor([this] { return m_window->meterPage()->sets()->cells()->rowCount() > 0; }));
    expectNothingEscapes("meter");
}

TEST_F(PseudoWindow, IncidentSheet)
{
    m_window->openIncident(QStringLiteral("M-11"));
    expectNothingEscapes("incident");
}

TEST_F(PseudoWindow, ControlFromTypingToTheVerdicts)
{
    using registry::Level;
    ControlSheet* sheet = m_window->controlSheet();
    m_window->openControl(QStringLiteral("M-11"));
    ASSERT_TRUE(QTest::qWaitFor([&] { return sheet->panel(Level::Low) != nullptr && sheet->panel(Level::High) != nullptr; }));
    expectNothingEscapes("control");
    LevelPanel* low = sheet->panel(Level::Low);
    LevelPanel* high = sheet->panel(Level::High);
    low->setResult(QStringLiteral("47"));
    emit low->resultCommitted(Level::Low);
    high->setResult(QStringLiteral("48"));
    emit high->resultCommitted(Level::High);
    expectNothingEscapes("question");
    high->setResult(QStringLiteral("362"));
    emit high->resultTouched(Level::High);
    emit high->resultCommitted(Level::High);
    ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->page() == m_window->verdictPage(); }));
    expectNothingEscapes("verdict, failed");
    m_window->openMeter(QStringLiteral("M-11"));
    ASSERT_TRUE(QTest::qWaitFor([this] { return m_window->meterPage()->sets()->cells()->rowCount() > 1; }));
    expectNothingEscapes("meter, stopped");
    m_window->openControl(QStringLiteral("M-12"));
    ASSERT_TRUE(QTest::qWaitFor([&] { return sheet->panel(Level::Low) != nullptr && sheet->panel(Level::High) != nullptr; }));
    sheet->panel(Level::Low)->setResult(QStringLiteral("47"));
    emit sheet->panel(Level::Low)->resultCommitted(Level::Low);
    sheet->panel(Level::High)->setResult(QStringLiteral("296"));
    emit sheet->panel(Level::High)->resultCommitted(Level::High);
    ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->page() == m_window->verdictPage(); }));
    expectNothingEscapes("verdict, accepted");
}

} // namespace
} // namespace mk::desktop
