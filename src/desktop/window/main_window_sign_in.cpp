// SPDX-License-Identifier: GPL-3.0-or-later
// Signing in: one plain dialog, at the start and when the person changes.
#include "desktop/window/main_window.h"

#include "desktop/pages/sign_in_dialog.h"
#include "desktop/pages/ward_page.h"
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
    m_wardPage->say(answer.failedBefore > 0
            ? tr("%n tries with your id failed since you last came in. If they were not yours, tell the coordinator.", nullptr,
                static_cast<int>(answer.failedBefore))
            : QString());
    refreshHeader();
    refreshFrame();
}

} // namespace mk::desktop
