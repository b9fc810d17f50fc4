// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/password.h"

#include "keys/secret_service.h"
#include "store/db/address.h"
#include "words/faults.h"
#include "words/numbers.h"

#include <QCoreApplication>

#include <fcntl.h>
#include <termios.h>
#include <unistd.h>

namespace mk::cli {

using base::Fault;
using base::FaultKind;
using base::Result;

namespace {

struct PasswordTexts {
    Q_DECLARE_TR_FUNCTIONS(Password)
};

std::string questionFor(const store::Address& address)
{
    const QString place = words::said(address.said());
    return (address.user.empty() ? PasswordTexts::tr("Password for %1: ").arg(place)
                                 : PasswordTexts::tr("Password for %1, user %2: ").arg(place, words::text(address.user)))
        .toStdString();
}

/// The terminal itself: standard input may be a file of acts.
Result<std::string> typedAtTerminal(const store::Address& address)
{
    const int terminal = ::open("/dev/tty", O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (terminal < 0)
        return base::fault(FaultKind::Denied,
            "%1 asks for a password, and there is no terminal to ask at; keep it in the system's key store", address.said());
    const std::string question = questionFor(address);
    termios before {};
    const bool hidden = ::tcgetattr(terminal, &before) == 0;
    termios quiet = before;
    quiet.c_lflag &= ~static_cast<tcflag_t>(ECHO);
    std::string typed;
    if (hidden && ::tcsetattr(terminal, TCSAFLUSH, &quiet) == 0) {
        static_cast<void>(!::write(terminal, question.data(), question.size()));
        char c = 0;
        while (typed.size() < 1000 && ::read(terminal, &c, 1) == 1 && c != '\n')
            typed += c;
        ::tcsetattr(terminal, TCSAFLUSH, &before);
        static_cast<void>(!::write(terminal, "\n", 1));
    }
    ::close(terminal);
    if (typed.empty())
        return base::fault(FaultKind::Denied, "no password was given for %1", address.said());
    return typed;
}

} // namespace

store::PasswordSource passwordSource()
{
    return [](const store::Address& address) -> Result<std::string> {
        if (auto secret = keys::secretNow(keys::passwordName(address)))
            return std::move(*secret);
        return typedAtTerminal(address);
    };
}

} // namespace mk::cli
