// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/page.h"

namespace mk::desktop {

QAction* pageAction(Page* page, const QString& label, const QString& keyText, const QKeySequence& key)
{
    auto* action = new QAction(label, page);
    action->setData(keyText);
    action->setShortcut(key);
    action->setShortcutContext(Qt::WindowShortcut); // also from the scan field; a page that is hidden takes no keys
    page->addAction(action);
    return action;
}

} // namespace mk::desktop
