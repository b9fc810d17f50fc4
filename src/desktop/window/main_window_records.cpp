// SPDX-License-Identifier: GPL-3.0-or-later
// What the window records by itself, and what becomes of everything that was recorded.
#include "desktop/window/main_window.h"

#include "desktop/pages/control_sheet.h"
#include "desktop/pages/incident_sheet.h"
#include "desktop/pages/meter_page.h"
#include "desktop/pages/verdict_page.h"
#include "desktop/pages/ward_page.h"
#include "desktop/parts/frame_parts.h"
#include "words/faults.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <algorithm>

namespace mk::desktop {

void MainWindow::record(Purpose purpose, const base::MeterId& meter, std::vector<store::NewAct> acts)
{
    m_pending[m_desk.record(meter, std::move(acts), m_options.person.value_or(base::OperatorId()))] = purpose;
}

void MainWindow::withdraw(const QString& meter, registry::ReasonCode reason)
{
    if (meter.isEmpty() || !m_board || needsPerson())
        return;
    registry::acts::MeterMoved moved;
    moved.at = m_desk.now(m_board->zone);
    moved.meter = base::MeterId(meter.toStdString());
    moved.by = *m_options.person;
    moved.toState = registry::MeterState::Withdrawn;
    moved.reason = registry::code(reason);
    record(Purpose::Withdraw, moved.meter, { { moved, {} } });
}

void MainWindow::declareNotInUse(const QString& meter)
{
    if (meter.isEmpty() || !m_board || needsPerson())
        return;
    registry::acts::IncidentReported incident;
    incident.at = m_desk.now(m_board->zone);
    incident.noticedAt = incident.at;
    incident.meter = base::MeterId(meter.toStdString());
    incident.by = *m_options.person;
    incident.what = registry::IncidentKind::NotInUse;
    record(Purpose::NotInUse, incident.meter, { { incident, {} } });
}

void MainWindow::onRecorded(quint64 number, const RecordAnswer& answer)
{
    const auto pending = m_pending.extract(number);
    if (pending.empty())
        return;
    const Purpose purpose = pending.mapped();
    const bool refused = !answer.outcome && !answer.kept;
    if (refused)
        m_closing = false;
    if (m_closing && m_pending.empty()) {
        close();
        return;
    }
    if (m_putAside && m_putAside->saving && (purpose == Purpose::Control || purpose == Purpose::LeaveSheet || purpose == Purpose::Incident))
        return onRecordedAfter(answer);
    if (answer.kept)
        return showKept(answer);
    if (refused)
        return onRefused(purpose, answer);
    if (purpose == Purpose::LeaveSheet) {
        m_controlSheet->settle();
        if (page() == m_controlSheet)
            openWard();
        return;
    }
    if (purpose == Purpose::Control)
        m_controlSheet->settle();
    m_desk.askBoard(m_options.ward);
    if (purpose == Purpose::NotInUse) {
        m_wardPage->say(tr("%1 is on record as not in use today.").arg(words::text(answer.meter.value)));
        return;
    }
    m_verdictPage->setOutcome(answer, personText().section(QChar(u','), 0, 0));
    show(m_verdictPage);
}

void MainWindow::showKept(const RecordAnswer& answer)
{
    m_controlSheet->settle();
    m_waiting.insert(answer.meter);
    RecordAnswer shown = answer;
    shown.board = staleBoard(answer.board, m_desk.now(answer.board.zone), m_waiting);
    showStale();
    m_verdictPage->setOutcome(shown, personText().section(QChar(u','), 0, 0));
    show(m_verdictPage);
}

void MainWindow::onRefused(Purpose purpose, const RecordAnswer& answer)
{
    const bool away = answer.outcome.error().kind == base::FaultKind::Unreachable;
    const QString text = away ? keptText(purpose, answer.outcome.error(), answer.mayHaveArrived) : words::sentence(answer.outcome.error());
    if (purpose == Purpose::Control || purpose == Purpose::LeaveSheet) {
        m_controlSheet->sayProblem(text);
        if (mustSignIn()) // whose results they are is not there to read it
            m_wardPage->say(text);
        else
            show(m_controlSheet);
    } else if (purpose == Purpose::Incident) {
        m_incidentSheet->sayProblem(text);
    } else {
        m_wardPage->say(away ? text : tr("Nothing was saved. %1").arg(text));
        openWard();
    }
}

} // namespace mk::desktop
