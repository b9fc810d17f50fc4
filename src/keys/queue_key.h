// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/queue/outbox.h"

#include <QString>

namespace mk::keys {

/// The keys that may lock this workstation's queues, the one for new queues first; one is made where there is none.
/// It lives in the system's secret service: locked while its person is not signed in to the machine. Without a service it lies in a file of
/// the user's configuration that only this user may read: then it protects a copy of the data folder that is carried off alone, such as a
/// backup or a lent disk, and not against somebody who reads all of this user's files, nor against the machine's administrator.
/// service  false: the file alone
/// errors   Io: neither can hold a key
base::Result<std::vector<store::OutboxKey>> queueKeys(const QString& configFolder, bool service = true);

} // namespace mk::keys
