// SPDX-License-Identifier: GPL-3.0-or-later
// Who is signed in, on the registry's thread.
#include "desktop/desk/desk_worker.h"

namespace mk::desktop {

using base::Done;

SignInAnswer DeskWorker::signIn(const base::OperatorId& person, const store::Secret& secret, const std::optional<base::WardId>& ward)
{
    SignInAnswer answer;
    answer.person = person;
    Done done = ready();
    if (done)
        done = registrarReady();
    if (!done) {
        answer.problem = done.error().text;
        return answer;
    }
    store::SignInDesk desk(*m_session, *m_registrar, m_options.clock, m_options.station);
    const auto admitted = desk.signIn(person, secret, ward);
    if (!admitted) {
        answer.problem = admitted.error().text;
        return answer;
    }
    signOff();
    answer.admitted = true;
    answer.mustReplace = admitted->signedIn->mustReplace();
    answer.failedBefore = admitted->failedBefore;
    m_signedIn = admitted->signedIn;
    m_signedInOn = ward;
    return answer;
}

SignInAnswer DeskWorker::replaceSecret(
    const base::OperatorId& person, const store::Secret& present, const store::Secret& next, const std::optional<base::WardId>& ward)
{
    SignInAnswer answer;
    answer.person = person;
    answer.mustReplace = true;
    Done done = ready();
    if (done)
        done = registrarReady();
    if (done)
        done = store::SignInDesk(*m_session, *m_registrar, m_options.clock, m_options.station).replace(person, present, next);
    if (!done) {
        answer.problem = done.error().text;
        return answer;
    }
    return signIn(person, next, ward);
}

void DeskWorker::signOff()
{
    if (m_signedIn && m_signedInOn && m_session != nullptr && registrarReady()) {
        const auto person = m_signedIn->person();
        // Nothing hangs on this entry; where it cannot be written the session is seen to have been left open.
        static_cast<void>(m_registrar->recordOwnDecided(
            [&](store::Reader&, base::Moment now) {
                return std::vector<registry::Act> { registry::acts::ShiftEnded { now, person, *m_signedInOn } };
            },
            { person, m_options.station, m_signedIn }));
    }
    m_signedIn.reset();
    m_signedInOn.reset();
    m_shown.clear();
}

Done DeskWorker::noteShown(const std::string& what)
{
    if (!m_signedIn || m_shown.contains(what))
        return {};
    if (const Done done = registrarReady(); !done)
        return done;
    const Done noted = store::noteShown(*m_registrar, { m_signedIn->person(), m_options.station, m_signedIn }, what);
    if (noted)
        m_shown.insert(what);
    return noted;
}

} // namespace mk::desktop
