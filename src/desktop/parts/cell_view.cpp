// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/cell_view.h"

#include <QHeaderView>
#include <QKeyEvent>
#include <QPainter>
#include <QScrollBar>
#include <QTextLayout>

#include <algorithm>

namespace mk::desktop {

namespace {

QFont fontFor(const Cell& cell)
{
    return cell.code ? codeFont() : fontOf(cell.size, cell.weight);
}

/// The side of the shape beside a text: the height of its capitals and a little more.
int shapeSide(const QFont& font)
{
    return qRound(QFontMetrics(font).ascent() * 0.88);
}

int shapeRoom(const Cell& cell, const QFont& font)
{
    return cell.shape ? shapeSide(font) + u(1.3) : 0;
}

constexpr double kDense = 5; ///< rows lower than this, in u, keep their lines close

int longestWord(const QString& text, const QFontMetrics& metrics)
{
    int longest = 0;
    for (const QString& word : text.split(QChar(u' '), Qt::SkipEmptyParts))
        longest = std::max(longest, metrics.horizontalAdvance(word));
    return longest;
}

} // namespace

std::vector<int> fittedWidths(const std::vector<ColumnNeed>& needs, int stretching, int room)
{
    std::vector<int> widths;
    int over = -room;
    for (const ColumnNeed& need : needs) {
        widths.push_back(need.natural);
        over += need.natural;
    }
    const auto wide = static_cast<std::size_t>(stretching);
    const auto give = [&](std::size_t column, int floor) {
        const int given = std::clamp(widths[column] - std::max(floor, needs[column].least), 0, std::max(over, 0));
        widths[column] -= given;
        over -= given;
        return given > 0;
    };
    give(wide, room / 4);
    for (bool gave = true; over > 0 && gave;) {
        std::size_t widest = wide;
        for (std::size_t column = 0; column < widths.size(); ++column)
            if (column != wide && widths[column] > needs[column].least && (widest == wide || widths[column] > widths[widest]))
                widest = column;
        gave = widest != wide && give(widest, widths[widest] - 1);
    }
    give(wide, 0);
    if (over < 0)
        widths[wide] -= over;
    return widths;
}

StateDelegate::StateDelegate(double rowHeight, QObject* parent) : QStyledItemDelegate(parent), m_rowHeight(rowHeight) { }

QRect StateDelegate::textBox(const QRect& cell, const QModelIndex& index, const Cell& content) const
{
    const bool last = index.column() == index.model()->columnCount() - 1;
    const int left = index.column() == 0 ? u(m_firstMargin) : 0;
    const int right = last ? (m_firstMargin > 0 ? u(1) : 0) : u(m_columnGap);
    return cell.adjusted(left + (content.right ? 0 : shapeRoom(content, fontFor(content))), 0, -right, -1);
}

void StateDelegate::paint(QPainter* painter, const QStyleOptionViewItem& option, const QModelIndex& index) const
{
    const Tokens& t = tokensOf(option.palette);
    const auto cell = index.data(CellModel::CellRole).value<Cell>();
    const QFont font = fontFor(cell);
    painter->save();
    if (option.state.testFlag(QStyle::State_Selected)) {
        painter->fillRect(option.rect, t.picked);
        if (index.column() == 0 && option.state.testFlag(QStyle::State_Active) && option.widget != nullptr && option.widget->hasFocus())
            painter->fillRect(QRect(option.rect.left(), option.rect.top(), 3, option.rect.height() - 1), t.action);
    }
    const QRect box = textBox(option.rect, index, cell);
    const int textWidth = QFontMetrics(font).horizontalAdvance(cell.text);
    if (cell.shape) {
        const int side = shapeSide(font);
        const int left = cell.right ? box.right() - textWidth - shapeRoom(cell, font) : box.left() - shapeRoom(cell, font);
        paintShape(*painter, *cell.shape, QRectF(left, box.center().y() - side / 2.0 + 1, side, side),
            colourOf(t, cell.shapeTone.value_or(cell.tone)));
    }
    painter->setFont(font);
    painter->setPen(colourOf(t, cell.tone));
    const int flags = int(cell.right ? Qt::AlignRight : Qt::AlignLeft) | int(Qt::AlignVCenter) | (cell.code ? 0 : int(Qt::TextWordWrap));
    painter->drawText(box, flags, cell.text);
    const bool cut = index.data(CellModel::GroupEndRole).toBool();
    painter->fillRect(
        QRect(option.rect.left(), option.rect.bottom() - (cut ? 1 : 0), option.rect.width(), cut ? 2 : 1), cut ? t.line : t.hairline);
    painter->restore();
}

QSize StateDelegate::sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const
{
    const auto cell = index.data(CellModel::CellRole).value<Cell>();
    const QFont font = fontFor(cell);
    const QFontMetrics metrics(font);
    int height = std::max(u(m_rowHeight), metrics.height() + 1);
    const QRect box = textBox(option.rect, index, cell);
    if (!cell.code && box.width() > 0 && metrics.horizontalAdvance(cell.text) > box.width()) {
        const QRect needed = metrics.boundingRect(QRect(0, 0, box.width(), 1000), int(Qt::TextWordWrap) | int(Qt::AlignLeft), cell.text);
        if (needed.height() > metrics.height() * 3 / 2)
            height = std::max(height, needed.height() + u(m_rowHeight < kDense ? 0.4 : 1.2));
    }
    return { needOf(index).natural, height };
}

ColumnNeed StateDelegate::needOf(const QModelIndex& index) const
{
    const auto cell = index.data(CellModel::CellRole).value<Cell>();
    const QFont font = fontFor(cell);
    const QFontMetrics metrics(font);
    const QRect box = textBox({ 0, 0, 1000, 100 }, index, cell);
    const int around = 1000 - box.width() + (cell.right ? shapeRoom(cell, font) : 0) + 2;
    const int whole = metrics.horizontalAdvance(cell.text);
    return { around + whole, around + (cell.code ? whole : longestWord(cell.text, metrics)) };
}

CellView::CellView(CellModel* model, const Form& form, QWidget* parent)
    : QTableView(parent),
      m_model(model),
      m_form(form),
      m_delegate(new StateDelegate(form.rowHeight, this))
{
    m_delegate->setFirstMargin(form.firstMargin);
    m_delegate->setColumnGap(form.columnGap);
    setItemDelegate(m_delegate);
    setModel(model);
    setShowGrid(false);
    setFrameShape(QFrame::NoFrame);
    setWordWrap(true);
    setSelectionBehavior(SelectRows);
    setSelectionMode(form.pickable ? SingleSelection : NoSelection);
    setEditTriggers(NoEditTriggers);
    setTabKeyNavigation(false);
    setCornerButtonEnabled(false);
    setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    setVerticalScrollMode(ScrollPerItem);
    setFocusPolicy(form.pickable ? Qt::StrongFocus : Qt::NoFocus);
    verticalHeader()->hide();
    verticalHeader()->setMinimumSectionSize(1);
    QHeaderView* header = horizontalHeader();
    header->setVisible(form.headerHeight > 0);
    header->setFixedHeight(std::max(1, u(form.headerHeight)));
    header->setProperty("firstMargin", form.firstMargin);
    header->setProperty("columnGap", form.columnGap);
    header->setSectionsClickable(false);
    header->setHighlightSections(false);
    header->setMinimumSectionSize(u(2));
    header->setSectionResizeMode(QHeaderView::Fixed);
    wearPalette();
    connect(model, &QAbstractItemModel::modelReset, this, &CellView::fit);
    connect(model, &QAbstractItemModel::dataChanged, this, &CellView::fit);
    connect(model, &QAbstractItemModel::headerDataChanged, this, &CellView::fit);
    connect(selectionModel(), &QItemSelectionModel::currentRowChanged, this, [this](const QModelIndex& current) {
        if (current.isValid())
            emit picked(m_model->idAt(current.row()));
    });
    connect(this, &QTableView::doubleClicked, this, [this](const QModelIndex& index) { emit opened(m_model->idAt(index.row())); });
}

ColumnNeed CellView::headNeed(int column) const
{
    const QFontMetrics metrics(m_model->headerData(column, Qt::Horizontal, Qt::FontRole).value<QFont>());
    const QString title = m_model->headerData(column, Qt::Horizontal, Qt::DisplayRole).toString();
    const bool last = column == m_model->columnCount() - 1;
    const int around = (column == 0 ? u(m_form.firstMargin) : 0) + (last ? u(1) : u(m_form.columnGap)) + 2;
    return { around + metrics.horizontalAdvance(title), around + longestWord(title, metrics) };
}

int CellView::headHeight(const std::vector<int>& widths) const
{
    int more = 0; // than one line
    for (int column = 0; m_form.headerHeight > 0 && column < m_model->columnCount(); ++column) {
        const QFontMetrics metrics(m_model->headerData(column, Qt::Horizontal, Qt::FontRole).value<QFont>());
        const QString title = m_model->headerData(column, Qt::Horizontal, Qt::DisplayRole).toString();
        const int around = headNeed(column).natural - metrics.horizontalAdvance(title);
        const int room = std::max(1, widths[static_cast<std::size_t>(column)] - around);
        more = std::max(more, metrics.boundingRect(QRect(0, 0, room, 1000), int(Qt::TextWordWrap), title).height() - metrics.height());
    }
    return u(m_form.headerHeight) + more;
}

void CellView::fit()
{
    const int columns = m_model->columnCount();
    std::vector<ColumnNeed> needs(static_cast<std::size_t>(columns));
    for (int column = 0; column < columns; ++column) {
        ColumnNeed& need = needs[static_cast<std::size_t>(column)];
        if (m_form.headerHeight > 0)
            need = headNeed(column);
        for (int row = 0; row < m_model->rowCount(); ++row) {
            const ColumnNeed cell = m_delegate->needOf(m_model->index(row, column));
            need = { std::max(need.natural, cell.natural), std::max(need.least, cell.least) };
        }
    }
    const auto widths = fittedWidths(needs, m_form.stretching < 0 ? columns - 1 : m_form.stretching, viewport()->width());
    for (int column = 0; column < columns; ++column)
        horizontalHeader()->resizeSection(column, widths[static_cast<std::size_t>(column)]);
    horizontalHeader()->setFixedHeight(std::max(1, headHeight(widths)));
    resizeRowsToContents();
    updateGeometry();
}

void CellView::wearPalette()
{
    const Tokens& t = tokensOf(palette());
    QPalette mine = palette();
    const QColor ground = m_form.onPaper ? t.paper : t.surface;
    if (mine.color(QPalette::Base) != ground || mine.color(QPalette::ButtonText) != t.quiet) {
        mine.setColor(QPalette::Base, ground);
        mine.setColor(QPalette::ButtonText, t.quiet);
        setPalette(mine);
    }
}

void CellView::changeEvent(QEvent* event)
{
    QTableView::changeEvent(event);
    if (event->type() == QEvent::PaletteChange)
        wearPalette();
}

QString CellView::pickedId() const
{
    return m_model->idAt(currentIndex().row());
}

void CellView::pick(const QString& id)
{
    const int row = m_model->rowWith(id);
    if (row < 0) {
        clearSelection();
        setCurrentIndex({});
        return;
    }
    selectRow(row);
    scrollTo(m_model->index(row, 0));
}

QSize CellView::sizeHint() const
{
    int height = horizontalHeader()->isVisible() ? horizontalHeader()->height() : 0;
    for (int row = 0; row < m_model->rowCount(); ++row)
        height += rowHeight(row);
    return { u(44), height };
}

void CellView::resizeEvent(QResizeEvent* event)
{
    QTableView::resizeEvent(event);
    if (event->size().width() != event->oldSize().width())
        fit();
}

void CellView::keyPressEvent(QKeyEvent* event)
{
    if (event->key() == Qt::Key_Return || event->key() == Qt::Key_Enter) {
        if (const QString id = pickedId(); !id.isEmpty())
            emit opened(id);
        return;
    }
    // Letters and digits are for the scan field; the table's own search would swallow them.
    if (!event->text().isEmpty() && event->text().at(0).isPrint()) {
        event->ignore();
        return;
    }
    QTableView::keyPressEvent(event);
}

void CellView::focusInEvent(QFocusEvent* event)
{
    QTableView::focusInEvent(event);
    if (!currentIndex().isValid() && m_model->rowCount() > 0)
        selectRow(0);
    viewport()->update();
}

} // namespace mk::desktop
