// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"
#include "desktop/parts/page.h"

class QPushButton;

namespace mk::desktop {

class CellView;
class ToneLabel;

/// What the registry did not take of what was kept here while the server was away. Nothing leaves the queue before a person has read it.
class DeliveryPage final : public Page {
    Q_OBJECT

public:
    explicit DeliveryPage(QWidget* parent = nullptr);
    /// trouble  with the queue itself, as a sentence; may be empty
    void setUnread(const std::vector<DeliveredLine>& lines, const QString& trouble, const registry::Zone& zone);
    CellView* list() const { return m_list; }

    BandText band() const override;
    QList<KeyHint> keys() const override;
    QWidget* firstFocus() const override;

signals:
    void readByPerson();

private:
    int m_count = 0;
    CellView* m_list;
    ToneLabel* m_how;
    ToneLabel* m_trouble;
    QPushButton* m_done;
};

} // namespace mk::desktop
