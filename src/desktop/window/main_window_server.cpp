// SPDX-License-Identifier: GPL-3.0-or-later
// What the window shows while its server is away, and when it is back.
#include "desktop/window/main_window.h"

#include "desktop/pages/control_sheet.h"
#include "desktop/pages/delivery_page.h"
#include "desktop/pages/empty_page.h"
#include "desktop/parts/frame_parts.h"
#include "desktop/pages/meter_page.h"
#include "desktop/parts/stale_board.h"
#include "desktop/pages/verdict_page.h"
#include "desktop/pages/wall_screen.h"
#include "desktop/pages/ward_page.h"
#include "words/faults.h"
#include "words/numbers.h"

#include <algorithm>

namespace mk::desktop {

void MainWindow::connectServer()
{
    connect(&m_desk, &RegistryDesk::lost, this, &MainWindow::onLost);
    connect(&m_desk, &RegistryDesk::stillLost, this, &MainWindow::onLost);
    connect(&m_desk, &RegistryDesk::back, this, &MainWindow::onBack);
    connect(m_deliveryPage, &DeliveryPage::readByPerson, this, [this] {
        m_desk.refusalsRead();
        m_readWhy->setEnabled(false);
        hideNotice();
    });
    m_readWhy = new QAction(tr("Read why"), this);
    m_readWhy->setData(tr("F7"));
    m_readWhy->setShortcut(QKeySequence(Qt::Key_F7));
    m_readWhy->setEnabled(false);
    addAction(m_readWhy);
    connect(m_readWhy, &QAction::triggered, this, [this] {
        if (page() == m_controlSheet && m_controlSheet->holdsResults())
            m_controlSheet->leave(); // what was typed goes on record first
        show(m_deliveryPage);
    });
}

void MainWindow::onLost(const base::Fault& fault)
{
    m_lostBy = fault;
    if (!m_board) {
        if (fault.kind == base::FaultKind::NotFound)
            m_emptyPage->sayProblem(words::sentence(fault));
        else
            m_emptyPage->sayAway(words::sentence(fault), fault.kind == base::FaultKind::Unreachable);
        if (page() == m_wardPage)
            show(m_emptyPage);
        return;
    }
    showStale();
}

/// The last known board, marked with its age; a promise of then that has run out is no promise.
void MainWindow::showStale()
{
    if (!m_board)
        return;
    const BoardAnswer stale = staleBoard(*m_board, m_desk.now(m_board->zone), m_waiting);
    m_wardPage->setAnswer(stale);
    m_wall->setAnswer(stale, wardText());
    if (m_meterKnown && page() == m_meterPage) {
        MeterAnswer meter = *m_meterKnown;
        meter.meter = staleLine(meter.meter, meter.at, m_waiting);
        meter.at = stale.at;
        m_meterPage->setAnswer(meter);
    }
    m_header->setMoment(ageInWords(m_board->at, stale.at, m_board->zone));
    sayLost();
}

void MainWindow::sayLost()
{
    if (m_lostBy && m_lostBy->kind != base::FaultKind::Unreachable)
        m_serverStrip->sayLost(
            tr("The server does not let this program in."), tr("Nothing can be saved: use the paper form, and tell the coordinator."));
    else if (m_board->mayKeep)
        m_serverStrip->sayLost(
            tr("The server cannot be reached."), tr("Save as usual: it is kept here, and delivered when the server is back."));
    else
        m_serverStrip->sayLost(
            tr("The server cannot be reached."), tr("Nothing can be saved: use the paper form. It is tried again by itself."));
}

void MainWindow::onBack(const ContactAnswer& answer)
{
    const bool wasLost = m_lostBy.has_value();
    m_lostBy.reset();
    if (answer.waiting == 0)
        m_waiting.clear();
    const auto taken = static_cast<int>(
        std::ranges::count_if(answer.delivered, [](const DeliveredLine& line) { return line.refusal.empty(); }));
    const auto unread = static_cast<int>(answer.unread.size());
    const bool trouble = !answer.trouble.empty();
    m_deliveryPage->setUnread(answer.unread, words::sentence(answer.trouble), answer.zone);
    m_readWhy->setEnabled(unread > 0 || trouble);
    const QString back = wasLost ? tr("The server is back.") : QString();
    const QString delivered = taken == 1 ? tr("The kept record is delivered.")
        : taken > 1                      ? tr("%1 kept records are delivered.").arg(taken)
                                         : QString();
    //: two whole sentences: The server is back. 2 kept records are delivered.
    const QString both = back.isEmpty() ? delivered : delivered.isEmpty() ? back : tr("%1 %2").arg(back, delivered);
    if (unread > 0)
        m_serverStrip->sayBack(
            unread == 1 ? tr("One record was not taken.") : tr("%1 records were not taken.").arg(unread), both, m_readWhy);
    else if (trouble)
        m_serverStrip->sayBack(tr("Look at what was kept here."), both, m_readWhy);
    else if (taken > 0)
        m_serverStrip->sayBack(both, tr("Marked as delivered late; the board shows what was judged. Esc closes this."), nullptr);
    else
        m_serverStrip->hide();
    if (!wasLost && answer.delivered.empty())
        return; // at the start: the board is on its way
    m_desk.askBoard(m_options.ward);
    if (page() == m_meterPage)
        m_desk.askMeter(base::MeterId(m_meterPage->meter().toStdString()));
    if (wasLost && page() == m_controlSheet)
        m_controlSheet->lookAgain();
}

void MainWindow::hideNotice()
{
    if (!m_lostBy && !m_readWhy->isEnabled())
        m_serverStrip->hide();
}

/// What to do with something that could neither be sent nor kept.
QString MainWindow::keptText(Purpose purpose, const base::Fault&, bool mayHaveArrived) const
{
    const bool form = purpose == Purpose::Control || purpose == Purpose::LeaveSheet || purpose == Purpose::Incident;
    if (form)
        return mayHaveArrived
            ? tr("The server went away: this may have arrived or not. Save it again when the server is back; it stands once.")
            : tr("Not saved: the server is away. Use the paper form, or save again when it is back.");
    return mayHaveArrived ? tr("The server went away: this may have arrived or not. Look when it is back.")
                          : tr("Not saved: the server is away. Do it again when it is back.");
}

} // namespace mk::desktop
