// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/parts/cell_model.h"

#include <QStyledItemDelegate>
#include <QTableView>

namespace mk::desktop {

/// Draws a cell: shape, text, the line under its row, the cut under a group. Used for board, vials, verdicts and pairs alike.
class StateDelegate final : public QStyledItemDelegate {
    Q_OBJECT

public:
    /// rowHeight in u; wrapping  the column whose text may take two lines, or -1
    StateDelegate(double rowHeight, int wrapping, QObject* parent);

    void setFirstMargin(double margin) { m_firstMargin = margin; }

    void paint(QPainter* painter, const QStyleOptionViewItem& option, const QModelIndex& index) const override;
    QSize sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const override;

private:
    QRect textBox(const QRect& cell, const QModelIndex& index, const Cell& content) const;

    double m_rowHeight;
    int m_wrapping;
    double m_firstMargin = 2;
};

/// A table without grid or boxes: rows are picked whole, the words stay readable, one column takes what room is left.
class CellView final : public QTableView {
    Q_OBJECT

public:
    struct Form {
        double rowHeight = 5.15; ///< in u; room for a gloved finger
        double headerHeight = 4; ///< in u; 0: no header
        int stretching = -1;     ///< the column that takes the rest; -1: the last
        double firstMargin = 2;  ///< in u, before the first column
        bool pickable = true;
        bool onPaper = false; ///< side lists stand on the window's ground
    };
    CellView(CellModel* model, const Form& form, QWidget* parent);

    CellModel* cells() const { return m_model; }
    QString pickedId() const;
    void pick(const QString& id);
    /// As high as its rows, so that nothing in it scrolls.
    QSize sizeHint() const override;
    QSize minimumSizeHint() const override { return { u(10), u(8) }; }

signals:
    void picked(const QString& id);
    void opened(const QString& id);

protected:
    void resizeEvent(QResizeEvent* event) override;
    void keyPressEvent(QKeyEvent* event) override;
    void focusInEvent(QFocusEvent* event) override;
    void changeEvent(QEvent* event) override;

private:
    void wearPalette();

    CellModel* m_model;
    Form m_form;
};

} // namespace mk::desktop
