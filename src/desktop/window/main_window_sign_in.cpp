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

namespace mk::desktop {

void MainWindow::askSignIn(const std::optional<base::OperatorId>& person)
{
    if (!m_signIn->isVisible())
        m_signIn->begin(person);
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
    QStringList said { takeUpAgain(answer.person) };
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
    QString said = tr("%1 was signed off: %n minutes without a key or a touch.", nullptr, m_board->autoLogoffMinutes).arg(nameOf(person));
    m_warning.clear();
    if (page() == m_controlSheet && m_controlSheet->holdsResults()) {
        // A result that was typed is never thrown away (handbook, story S14); it is asked for before the session ends.
        said += QLatin1Char(' ') + tr("What was typed for %1 goes on record as it stands.").arg(words::text(m_controlSheet->meter().value));
        m_controlSheet->leave();
    } else {
        putAside();
    }
    m_desk.signOff();
    m_signedIn = false;
    show(m_wardPage);
    m_wardPage->say(said);
    refreshHeader();
    askSignIn(person);
}

/// What was begun and is no result yet waits for the one who began it.
void MainWindow::putAside()
{
    if (page() == m_controlSheet)
        m_putAside = PutAside { m_controlSheet, *m_options.person, words::text(m_controlSheet->meter().value) };
    else if (page() == m_incidentSheet)
        m_putAside = PutAside { m_incidentSheet, *m_options.person, words::text(m_incidentSheet->meter().value) };
}

/// returns  what became of it, for whoever came in
QString MainWindow::takeUpAgain(const base::OperatorId& person)
{
    if (!m_putAside)
        return {};
    const PutAside aside = *m_putAside;
    m_putAside.reset();
    if (aside.person != person)
        return tr("What %1 had begun for %2 was not saved.").arg(nameOf(aside.person), aside.meter);
    show(aside.page);
    return {};
}

} // namespace mk::desktop
