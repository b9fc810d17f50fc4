// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/parts/cell_model.h"

#include <QStyledItemDelegate>
#include <QTableView>

namespace mk::desktop {

/// What the contents of a column ask for, in pixels: on one line, and with every word on a line of its own.
struct ColumnNeed {
    int natural = 0, least = 0;
};

/// Columns are as wide as their contents, the stretching one takes the rest. Where there is too little room the stretching one gives way
/// down to a quarter of it, then the widest of the others, none below its longest word.
std::vector<int> fittedWidths(const std::vector<ColumnNeed>& needs, int stretching, int room);

/// Draws a cell: shape, text, the line under its row, the cut under a group. Used for board, vials, verdicts and pairs alike.
class StateDelegate final : public QStyledItemDelegate {
    Q_OBJECT

public:
    /// rowHeight in u
    StateDelegate(double rowHeight, QObject* parent);

    void setFirstMargin(double margin) { m_firstMargin = margin; }
    void setColumnGap(double gap) { m_columnGap = gap; }

    void paint(QPainter* painter, const QStyleOptionViewItem& option, const QModelIndex& index) const override;
    /// Of the width that the option has; what does not fit on a line takes more of them. Codes are never broken.
    QSize sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const override;
    ColumnNeed needOf(const QModelIndex& index) const;

private:
    QRect textBox(const QRect& cell, const QModelIndex& index, const Cell& content) const;

    double m_rowHeight;
    double m_firstMargin = 2;
    double m_columnGap = kColumnGap;
};

/// A table without grid or boxes: rows are picked whole, the words stay readable, one column takes what room is left, long words wrap.
class CellView final : public QTableView {
    Q_OBJECT

public:
    struct Form {
        double rowHeight = 5.15;       ///< in u; room for a gloved finger
        double headerHeight = 4;       ///< in u; 0: no header
        int stretching = -1;           ///< the column that takes the rest; -1: the last
        double firstMargin = 2;        ///< in u, before the first column
        double columnGap = kColumnGap; ///< in u, behind the text of a column
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
    void fit();
    ColumnNeed headNeed(int column) const;
    int headHeight(const std::vector<int>& widths) const;

    CellModel* m_model;
    Form m_form;
    StateDelegate* m_delegate;
};

} // namespace mk::desktop
