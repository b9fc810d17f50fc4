// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/look/look.h"
#include "desktop/look/shapes.h"

#include <QAbstractTableModel>

#include <optional>
#include <vector>

namespace mk::desktop {

/// What one cell says and how: the text is formatted already, the tokens are not yet colours.
struct Cell {
    QString text;
    Tone tone = Tone::Ink;
    TextSize size = TextSize::Body;
    Weight weight = Weight::Regular;
    bool code = false;  ///< set in the face for codes
    bool right = false; ///< numbers stand under each other
    std::optional<StateShape> shape = std::nullopt;
    std::optional<Tone> shapeTone = std::nullopt; ///< where the shape speaks in another colour than the text
    QString spoken {};                            ///< for a screen reader; empty: the text
    friend bool operator==(const Cell&, const Cell&) = default;
};

/// One line of a table; its id survives a change of order.
struct CellRow {
    QString id;
    std::vector<Cell> cells;
    bool groupEnd = false; ///< the cut between groups lies under it
    friend bool operator==(const CellRow&, const CellRow&) = default;
};

struct CellColumn {
    QString title;
    bool right = false;
    bool bold = false;
};

/// A table of cells. Holds copies, and announces exactly what changed.
class CellModel final : public QAbstractTableModel {
    Q_OBJECT

public:
    enum Roles { CellRole = Qt::UserRole + 1, GroupEndRole, IdRole };

    explicit CellModel(std::vector<CellColumn> columns, QObject* parent = nullptr);

    /// Same ids in the same order: only the cells that differ are announced. Else everything did change.
    void setRows(std::vector<CellRow> rows);
    void setColumns(std::vector<CellColumn> columns);
    /// -1 where there is none
    int rowWith(const QString& id) const;
    QString idAt(int row) const;

    int rowCount(const QModelIndex& parent = {}) const override;
    int columnCount(const QModelIndex& parent = {}) const override;
    QVariant data(const QModelIndex& index, int role) const override;
    QVariant headerData(int section, Qt::Orientation orientation, int role) const override;

private:
    std::vector<CellColumn> m_columns;
    std::vector<CellRow> m_rows;
};

} // namespace mk::desktop

Q_DECLARE_METATYPE(mk::desktop::Cell)
