// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/secret_source.h"

#include "words/numbers.h"

#include <QCoreApplication>

#include <sodium.h>

#include <fcntl.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

namespace mk::cli {

using base::Result;
using store::Secret;

namespace {

struct SourceTexts {
    Q_DECLARE_TR_FUNCTIONS(Secrets)
};

/// A descriptor that is closed again.
struct Opened {
    explicit Opened(int descriptor) : fd(descriptor) { }
    ~Opened()
    {
        if (fd >= 0)
            ::close(fd);
    }
    Opened(const Opened&) = delete;
    Opened& operator=(const Opened&) = delete;
    int fd;
};

/// One line, read byte by byte: what follows it stays for the next question, and no buffer keeps a copy.
Result<Secret> lineFrom(int descriptor, const std::string& where)
{
    Secret secret;
    char c = 0;
    for (;;) {
        const auto got = ::read(descriptor, &c, 1);
        if (got < 0)
            return base::badInput("%1 cannot be read; check it and try again", where);
        if (got == 0 || c == '\n')
            break;
        if (c != '\r' && !secret.append(c))
            return base::badInput("%1 has a line that is longer than any secret; put the secret alone on its line", where);
    }
    sodium_memzero(&c, 1);
    if (secret.empty())
        return base::badInput("%1 holds no secret on its next line; put the secret there, alone", where);
    return secret;
}

Result<Secret> fromFile(const std::string& path)
{
    const Opened file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY));
    struct stat about { };
    if (file.fd < 0 || ::fstat(file.fd, &about) != 0)
        return base::badInput("%1 cannot be read; check the path and its rights", path);
    if (!S_ISREG(about.st_mode))
        return base::badInput("%1 is no plain file; name a file that holds the secret, or use --secret-stdin", path);
    if ((about.st_mode & 0177U) != 0 || about.st_uid != ::geteuid())
        return base::badInput("%1 can be read by others; make it yours alone first (chmod 600)", path);
    return lineFrom(file.fd, path);
}

/// The terminal's settings as they were, whatever happens.
class Unechoed {
public:
    explicit Unechoed(int terminal) : m_terminal(terminal), m_known(::tcgetattr(terminal, &m_before) == 0)
    {
        termios quiet = m_before;
        // Signals too: an interrupt would leave the terminal mute.
        quiet.c_lflag &= ~static_cast<tcflag_t>(ECHO | ISIG | ICANON);
        quiet.c_cc[VMIN] = 1;
        quiet.c_cc[VTIME] = 0;
        m_known = m_known && ::tcsetattr(terminal, TCSAFLUSH, &quiet) == 0;
    }
    ~Unechoed()
    {
        if (m_known)
            ::tcsetattr(m_terminal, TCSAFLUSH, &m_before);
    }
    Unechoed(const Unechoed&) = delete;
    Unechoed& operator=(const Unechoed&) = delete;
    bool works() const { return m_known; }

private:
    int m_terminal;
    termios m_before {};
    bool m_known;
};

Result<Secret> fromTerminal(const std::string& prompt)
{
    const Opened terminal(::open("/dev/tty", O_RDWR | O_CLOEXEC | O_NOCTTY));
    if (terminal.fd < 0)
        return base::fault(base::FaultKind::BadInput, "there is no terminal to ask for a secret; use --secret-file FILE or --secret-stdin");
    const std::string asked = prompt + ": ";
    const Unechoed unechoed(terminal.fd);
    if (!unechoed.works() || ::write(terminal.fd, asked.data(), asked.size()) < 0)
        return base::fault(base::FaultKind::BadInput, "the terminal cannot hide what is typed; use --secret-file FILE or --secret-stdin");
    Secret secret;
    bool cancelled = false;
    for (;;) {
        char c = 0;
        if (::read(terminal.fd, &c, 1) != 1 || c == 0x03 || c == 0x04) {
            cancelled = true;
            break;
        }
        if (c == '\n' || c == '\r')
            break;
        if (c == 0x7f || c == '\b')
            secret.removeLast();
        else if (c == 0x15)
            secret.wipe();
        else
            secret.append(c);
    }
    static_cast<void>(::write(terminal.fd, "\n", 1) == 1);
    if (cancelled || secret.empty())
        return base::fault(base::FaultKind::BadInput, "no secret was given; nothing was done");
    return secret;
}

} // namespace

Result<Secret> readSecret(const Globals& globals, const std::string& prompt)
{
    if (globals.secretStdin)
        return lineFrom(STDIN_FILENO, SourceTexts::tr("standard input").toStdString());
    if (!globals.secretFile.empty())
        return fromFile(globals.secretFile);
    return fromTerminal(prompt);
}

Result<Secret> readNewSecret(const Globals& globals, const std::string& prompt)
{
    if (!globals.newSecretFile.empty())
        return fromFile(globals.newSecretFile);
    if (globals.secretStdin)
        return lineFrom(STDIN_FILENO, SourceTexts::tr("standard input").toStdString());
    auto first = fromTerminal(prompt);
    if (!first)
        return first;
    const auto second = fromTerminal(SourceTexts::tr("%1, once more").arg(words::text(prompt)).toStdString());
    if (!second)
        return second.error();
    if (first->text() != second->text())
        return base::fault(base::FaultKind::BadInput, "the two were not the same; nothing was done");
    return first;
}

} // namespace mk::cli
