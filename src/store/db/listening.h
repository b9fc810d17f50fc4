// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/db/session.h"

#include <QObject>

#include <functional>

namespace mk::store {

/// Calls `heard` in the context's thread whenever any session committed to the same registry on a server; a file tells nothing. After a
/// reconnect it must be asked for again.
/// thread  the session's, which needs an event loop
QMetaObject::Connection whenOthersCommit(Session& session, QObject* context, std::function<void()> heard);

} // namespace mk::store
