// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QLayout>

#include <memory>
#include <vector>

namespace mk::desktop {

/// Puts its items beside each other, each as wide as it asks to be, and goes on in the next line where one does not fit.
class FlowLayout final : public QLayout {
public:
    /// gap  between items and between lines, in pixels
    explicit FlowLayout(int gap);

    void addItem(QLayoutItem* item) override { m_items.emplace_back(item); }
    int count() const override { return static_cast<int>(m_items.size()); }
    QLayoutItem* itemAt(int index) const override;
    QLayoutItem* takeAt(int index) override;
    Qt::Orientations expandingDirections() const override { return {}; }
    bool hasHeightForWidth() const override { return true; }
    int heightForWidth(int width) const override;
    QSize sizeHint() const override;
    QSize minimumSize() const override;
    void setGeometry(const QRect& rect) override;

private:
    int place(const QRect& rect, bool move) const;

    std::vector<std::unique_ptr<QLayoutItem>> m_items;
    int m_gap;
};

} // namespace mk::desktop
