// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/db/listening.h"

#include <QSqlDriver>

namespace mk::store {

QMetaObject::Connection whenOthersCommit(Session& session, QObject* context, std::function<void()> heard)
{
    QSqlDriver* driver = session.listen();
    if (driver == nullptr)
        return {};
    return QObject::connect(driver, &QSqlDriver::notification, context, [heard = std::move(heard)] { heard(); });
}

} // namespace mk::store
