// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_worker.h"

#include <QObject>

#include <atomic>

namespace mk::desktop {

/// Gets what the registry's thread needs from a person or from the system's key store; that thread waits meanwhile, the window does not.
/// thread  the window's; outlives the window
class DeskSecrets final : public QObject {
    Q_OBJECT

public:
    explicit DeskSecrets(QObject* parent = nullptr);

    /// The key store first, then a dialog. Never a configuration file.
    store::PasswordSource passwordSource();
    std::function<base::Result<std::vector<store::OutboxKey>>()> queueKeys(const QString& configFolder);
    /// Nobody is waited for any longer.
    void close() { m_closing = true; }

private:
    using Answer = std::function<void(base::Result<std::string>)>;
    void askPerson(const store::Address& address, const Answer& answer);

    std::atomic<bool> m_closing = false;
};

} // namespace mk::desktop
