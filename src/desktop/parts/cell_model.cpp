// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/cell_model.h"

#include <algorithm>

namespace mk::desktop {

CellModel::CellModel(std::vector<CellColumn> columns, QObject* parent) : QAbstractTableModel(parent), m_columns(std::move(columns)) { }

void CellModel::setRows(std::vector<CellRow> rows)
{
    const bool sameIds = std::ranges::equal(rows, m_rows, {}, &CellRow::id, &CellRow::id);
    if (!sameIds) {
        beginResetModel();
        m_rows = std::move(rows);
        endResetModel();
        return;
    }
    for (std::size_t at = 0; at < rows.size(); ++at) {
        if (rows[at] == m_rows[at])
            continue;
        m_rows[at] = std::move(rows[at]);
        const int row = static_cast<int>(at);
        emit dataChanged(index(row, 0), index(row, columnCount() - 1));
    }
}

void CellModel::setColumns(std::vector<CellColumn> columns)
{
    Q_ASSERT(columns.size() == m_columns.size());
    m_columns = std::move(columns);
    emit headerDataChanged(Qt::Horizontal, 0, columnCount() - 1);
}

int CellModel::rowWith(const QString& id) const
{
    const auto found = std::ranges::find(m_rows, id, &CellRow::id);
    return found == m_rows.end() ? -1 : static_cast<int>(found - m_rows.begin());
}

QString CellModel::idAt(int row) const
{
    return row < 0 || row >= rowCount() ? QString() : m_rows[static_cast<std::size_t>(row)].id;
}

int CellModel::rowCount(const QModelIndex& parent) const
{
    return parent.isValid() ? 0 : static_cast<int>(m_rows.size());
}

int CellModel::columnCount(const QModelIndex& parent) const
{
    return parent.isValid() ? 0 : static_cast<int>(m_columns.size());
}

QVariant CellModel::data(const QModelIndex& index, int role) const
{
    if (!checkIndex(index, CheckIndexOption::IndexIsValid))
        return {};
    const CellRow& row = m_rows[static_cast<std::size_t>(index.row())];
    static const Cell kNothing;
    const auto column = static_cast<std::size_t>(index.column());
    const Cell& cell = column < row.cells.size() ? row.cells[column] : kNothing;
    switch (role) {
    case Qt::DisplayRole: return cell.text;
    case Qt::AccessibleTextRole: return cell.spoken.isEmpty() ? cell.text : cell.spoken;
    case Qt::TextAlignmentRole: return QVariant::fromValue(Qt::Alignment((cell.right ? Qt::AlignRight : Qt::AlignLeft) | Qt::AlignVCenter));
    case CellRole: return QVariant::fromValue(cell);
    case GroupEndRole: return row.groupEnd;
    case IdRole: return row.id;
    default: return {};
    }
}

QVariant CellModel::headerData(int section, Qt::Orientation orientation, int role) const
{
    if (orientation != Qt::Horizontal || section < 0 || section >= columnCount())
        return {};
    const CellColumn& column = m_columns[static_cast<std::size_t>(section)];
    switch (role) {
    case Qt::DisplayRole: return column.title;
    case Qt::FontRole: return fontOf(TextSize::Small, column.bold ? Weight::Semibold : Weight::Regular);
    case Qt::TextAlignmentRole:
        return QVariant::fromValue(Qt::Alignment((column.right ? Qt::AlignRight : Qt::AlignLeft) | Qt::AlignVCenter));
    default: return {};
    }
}

} // namespace mk::desktop
