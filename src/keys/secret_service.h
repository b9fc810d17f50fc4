// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/db/address.h"

#include <QString>

#include <functional>
#include <optional>
#include <string>

/// The system's secret service (GNOME Keyring, KWallet and their like), for both programs. On a machine without one every answer is
/// "nothing".
namespace mk::keys {

/// Answers later, on this thread's event loop; nothing where there is no service, no such secret, or no answer in time.
void secretOf(const QString& name, std::function<void(std::optional<std::string>)> answer);
/// Answers whether it is kept now.
void keepSecret(const QString& name, const std::string& secret, std::function<void(bool)> answer);

/// The same for a program without an event loop of its own: waits for the answer.
std::optional<std::string> secretNow(const QString& name);
bool keepSecretNow(const QString& name, const std::string& secret);

/// Under which the password of a server's user is kept.
QString passwordName(const store::Address& address);

} // namespace mk::keys
