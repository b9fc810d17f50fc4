// SPDX-License-Identifier: GPL-3.0-or-later
// Signing in: one plain dialog, at the start and when the person changes. And signing off whoever has left without it.
#include "desktop/window/main_window.h"

#include "desktop/pages/control_sheet.h"
#include "desktop/pages/incident_sheet.h"
#include "desktop/pages/sign_in_dialog.h"
#include "desktop/pages/ward_page.h"
#include "registry/people/presence.h"
#include "words/faults.h"
#include "words/numbers.h"

#include <algorithm>

namespace mk::desktop {

void MainWindow::askSignIn(const std::optional<base::OperatorId>& person)
{
    if (!m_signIn->isVisible())
        m_signIn->begin(person);
}

/// Whoever comes in while somebody else works ends that session first: nobody goes on with another's sheet.
void MainWindow::offerSignIn()
{
    if (m_signedIn && m_options.person && *m_options.person != m_signIn->person())
        leaveSeat(tr("%1 was signed off, because somebody else came in.").arg(nameOf(*m_options.person)));
    m_desk.signIn(m_signIn->person(), m_signIn->present(), m_options.ward);
}

void MainWindow::onSignIn(const SignInAnswer& answer)
{
    if (!answer.admitted) {
        m_signIn->sayProblem(words::sentence(answer.problem));
        return;
    }
    if (answer.mustReplace) {
        m_signIn->askNew();
        return;
    }
    m_signIn->accept();
    m_signedIn = true;
    m_lookingOnly = false;
    m_options.person = answer.person;
    m_input.begin();
    QStringList said;
    if (!m_putAside || !m_putAside->saving)
        said << takeUpAgain(answer.person); // else once it is known what became of it
    if (answer.failedBefore > 0)
        said << tr("%n tries with your id failed since you last came in. If they were not yours, tell the coordinator.", nullptr,
            static_cast<int>(answer.failedBefore));
    said.removeAll(QString());
    m_wardPage->say(said.join(QLatin1Char(' ')));
    refreshHeader();
    refreshFrame();
}

QString MainWindow::nameOf(const base::OperatorId& person) const
{
    if (m_board)
        for (const auto& each : m_board->people)
            if (each.id == person)
                return words::text(each.name.value_or(each.id.value));
    return words::text(person.value);
}

void MainWindow::lookForInput()
{
    // While the server is away nobody could come in again, and the paper form would be all that is left.
    const bool watched = m_signedIn && m_board && m_desk.mayWrite() && !m_desk.isLost();
    const auto presence = watched ? registry::presenceAfter(m_input.idleMs(), m_board->autoLogoffMinutes) : registry::Presence::Here;
    if (presence == registry::Presence::Gone) {
        signOffIdle();
        return;
    }
    const QString warning = presence == registry::Presence::LeavesSoon
        ? tr("%1 is signed off in a moment, because nobody types. Press any key to stay.").arg(nameOf(*m_options.person))
        : QString();
    if (warning == m_warning)
        return;
    m_warning = warning;
    refreshFrame();
}

void MainWindow::signOffIdle()
{
    const base::OperatorId person = *m_options.person;
    leaveSeat(tr("%1 was signed off: %n minutes without a key or a touch.", nullptr, m_board->autoLogoffMinutes).arg(nameOf(person)));
    askSignIn(person);
}

/// What was committed goes on record (handbook, story S14); what was begun beside it waits for the one who began it.
void MainWindow::leaveSeat(const QString& said)
{
    m_warning.clear();
    const base::OperatorId person = *m_options.person;
    if (page() == m_controlSheet) {
        m_controlSheet->saveCommitted();
        m_putAside = PutAside { m_controlSheet, person, words::text(m_controlSheet->meter().value), said, m_controlSheet->isSaving() };
    } else if (page() == m_incidentSheet) {
        const bool saving = std::ranges::any_of(m_pending, [](const auto& each) { return each.second == Purpose::Incident; });
        m_putAside = PutAside { m_incidentSheet, person, words::text(m_incidentSheet->meter().value), said, saving };
    }
    m_desk.signOff();
    m_signedIn = false;
    show(m_wardPage);
    m_wardPage->say(said);
    refreshHeader();
}

/// What was sent when its person was signed off is on record, or is not. Nobody is shown it; the ward is told.
void MainWindow::onRecordedAfter(const RecordAnswer& answer)
{
    m_putAside->saving = false;
    QStringList said { m_signedIn ? QString() : m_putAside->said };
    if (answer.outcome || answer.kept) {
        said << (answer.kept ? tr("What was typed for %1 is kept on this workstation.").arg(m_putAside->meter)
                             : tr("What was typed for %1 is on record.").arg(m_putAside->meter));
        if (m_putAside->page == m_controlSheet)
            m_controlSheet->settle();
        if (m_putAside->page != m_controlSheet || !m_controlSheet->holdsTyping())
            m_putAside.reset();
    } else {
        const QString why = words::sentence(answer.outcome.error());
        said << tr("What was typed for %1 is not saved. %2").arg(m_putAside->meter, why);
        if (m_putAside->page == m_controlSheet)
            m_controlSheet->sayProblem(why);
        else
            m_incidentSheet->sayProblem(why);
    }
    if (m_signedIn)
        said << takeUpAgain(*m_options.person);
    said.removeAll(QString());
    m_wardPage->say(said.join(QLatin1Char(' ')));
    m_desk.askBoard(m_options.ward);
}

/// returns  what became of it, for whoever came in
QString MainWindow::takeUpAgain(const base::OperatorId& person)
{
    if (!m_putAside)
        return {};
    const PutAside aside = *m_putAside;
    m_putAside.reset();
    if (aside.person != person) {
        if (aside.page == m_controlSheet)
            m_controlSheet->drop();
        return tr("What %1 had begun for %2 was not saved.").arg(nameOf(aside.person), aside.meter);
    }
    if (aside.page == m_controlSheet)
        m_controlSheet->lookAgain(); // vials run out meanwhile
    show(aside.page);
    return {};
}

} // namespace mk::desktop
