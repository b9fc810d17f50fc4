// SPDX-License-Identifier: GPL-3.0-or-later
// How keys and scans travel through the window.
#include "desktop/window/main_window.h"

#include "desktop/pages/control_sheet.h"
#include "desktop/parts/frame_parts.h"
#include "desktop/pages/ward_page.h"

#include <QApplication>
#include <QCloseEvent>
#include <QKeyEvent>
#include <QStackedWidget>

namespace mk::desktop {

void MainWindow::scan(const QString& typed)
{
    const bool here = page() == m_wardPage;
    if (!here) {
        if (page() == m_controlSheet && m_controlSheet->isSaving())
            return; // its answer comes first
        if (page() == m_controlSheet && m_controlSheet->holdsResults()) {
            m_controlSheet->leave();
            return;
        }
        m_desk.askBoard(m_options.ward);
        m_stack->setCurrentWidget(m_wardPage);
    }
    const QString meter = m_wardPage->meterNamed(typed);
    const BandText band = m_wardPage->band();
    // From another page nobody sees yet what the band said last: the scan is answered first.
    const bool spoken = here && !typed.trimmed().isEmpty() && !meter.isEmpty() && band.large && meter == m_wardPage->pickedMeter();
    if (typed.trimmed().isEmpty() || spoken) {
        openMeter(m_wardPage->pickedMeter());
        return;
    }
    if (meter.isEmpty())
        m_wardPage->scanUnknown(typed.trimmed());
    else
        m_wardPage->scan(meter);
    m_header->scanField()->setFocus();
    m_header->scanField()->selectAll(); // the next scan replaces it
}

void MainWindow::goBack()
{
    Page* current = page();
    hideNotice();
    if (current == nullptr || current->goBack()) {
        m_header->scanField()->clear();
        return;
    }
    if (current != m_wardPage)
        openWard();
    m_header->scanField()->clear();
}

void MainWindow::keyPressEvent(QKeyEvent* event)
{
    // Nothing else took this key: what is typed, or what a scanner sends, goes to the scan field.
    const QString text = event->text();
    const bool printable = !text.isEmpty() && text.at(0).isPrint()
        && !(event->modifiers() & (Qt::ControlModifier | Qt::AltModifier | Qt::MetaModifier));
    if (printable && !m_desk.options().past) {
        m_header->scanField()->setFocus();
        m_header->scanField()->setText(text);
        return;
    }
    QMainWindow::keyPressEvent(event);
}

bool MainWindow::eventFilter(QObject* watched, QEvent* event)
{
    if (watched == m_header->scanField() && event->type() == QEvent::KeyPress && page() == m_wardPage) {
        const int key = static_cast<QKeyEvent*>(event)->key();
        if (key == Qt::Key_Up || key == Qt::Key_Down || key == Qt::Key_PageUp || key == Qt::Key_PageDown) {
            QApplication::sendEvent(m_wardPage->board(), event);
            return true;
        }
    }
    return QMainWindow::eventFilter(watched, event);
}

void MainWindow::closeEvent(QCloseEvent* event)
{
    // A result that was typed goes on record before the window goes (handbook, story S14).
    if (page() == m_controlSheet && m_controlSheet->holdsResults()) {
        m_closing = true;
        m_controlSheet->leave();
        event->ignore();
        return;
    }
    if (!m_pending.empty()) {
        m_closing = true;
        event->ignore();
        return;
    }
    event->accept();
}

} // namespace mk::desktop
