// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/flow_layout.h"

#include <algorithm>

namespace mk::desktop {

FlowLayout::FlowLayout(int gap) : m_gap(gap)
{
    setContentsMargins(0, 0, 0, 0);
}

QLayoutItem* FlowLayout::itemAt(int index) const
{
    return index < 0 || index >= count() ? nullptr : m_items[static_cast<std::size_t>(index)].get();
}

QLayoutItem* FlowLayout::takeAt(int index)
{
    if (index < 0 || index >= count())
        return nullptr;
    QLayoutItem* taken = m_items[static_cast<std::size_t>(index)].release();
    m_items.erase(m_items.begin() + index);
    return taken;
}

int FlowLayout::heightForWidth(int width) const
{
    const QMargins around = contentsMargins();
    return place({ 0, 0, width - around.left() - around.right(), 0 }, false) + around.top() + around.bottom();
}

QSize FlowLayout::sizeHint() const
{
    QSize wanted(0, 0);
    for (const auto& item : m_items)
        if (!item->isEmpty())
            wanted = { wanted.width() + item->sizeHint().width() + m_gap, std::max(wanted.height(), item->sizeHint().height()) };
    const QMargins around = contentsMargins();
    return wanted + QSize(around.left() + around.right(), around.top() + around.bottom());
}

QSize FlowLayout::minimumSize() const
{
    QSize least(0, 0);
    for (const auto& item : m_items)
        if (!item->isEmpty())
            least = least.expandedTo(item->minimumSize());
    const QMargins around = contentsMargins();
    return least + QSize(around.left() + around.right(), around.top() + around.bottom());
}

void FlowLayout::setGeometry(const QRect& rect)
{
    QLayout::setGeometry(rect);
    place(rect.marginsRemoved(contentsMargins()), true);
}

/// returns  the height that all lines take together
int FlowLayout::place(const QRect& rect, bool move) const
{
    int x = rect.left();
    int y = rect.top();
    int line = 0;
    for (const auto& item : m_items) {
        if (item->isEmpty())
            continue;
        const QSize size(std::min(item->sizeHint().width(), rect.width()), item->sizeHint().height());
        if (x > rect.left() && x + size.width() > rect.left() + rect.width()) {
            x = rect.left();
            y += line + m_gap;
            line = 0;
        }
        if (move)
            item->setGeometry(QRect(QPoint(x, y), size));
        x += size.width() + m_gap;
        line = std::max(line, size.height());
    }
    return y + line - rect.top();
}

} // namespace mk::desktop
