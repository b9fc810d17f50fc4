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

} // namespace

StateDelegate::StateDelegate(double rowHeight, int wrapping, QObject* parent)
    : QStyledItemDelegate(parent),
      m_rowHeight(rowHeight),
      m_wrapping(wrapping)
{
}

QRect StateDelegate::textBox(const QRect& cell, const QModelIndex& index, const Cell& content) const
{
    const bool last = index.column() == index.model()->columnCount() - 1;
    const int left = index.column() == 0 ? u(m_firstMargin) : 0;
    const int right = last ? (m_firstMargin > 0 ? u(1) : 0) : u(kColumnGap);
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
    const int flags = int(cell.right ? Qt::AlignRight : Qt::AlignLeft) | int(Qt::AlignVCenter)
        | (index.column() == m_wrapping ? int(Qt::TextWordWrap) : 0);
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
    const int left = index.column() == 0 ? u(m_firstMargin) : 0;
    int height = std::max(u(m_rowHeight), metrics.height() + 1);
    if (index.column() == m_wrapping) {
        const QRect box = textBox(option.rect, index, cell);
        if (box.width() > u(10)) {
            const QRect needed = metrics.boundingRect(
                QRect(0, 0, box.width(), 1000), int(Qt::TextWordWrap) | int(Qt::AlignLeft), cell.text);
            if (needed.height() > metrics.height() * 3 / 2)
                height = std::max(height, needed.height() + u(1.2));
        }
    }
    return { left + shapeRoom(cell, font) + metrics.horizontalAdvance(cell.text) + u(kColumnGap) + 2, height };
}

CellView::CellView(CellModel* model, const Form& form, QWidget* parent) : QTableView(parent), m_model(model), m_form(form)
{
    const int columns = model->columnCount();
    const int stretching = form.stretching < 0 ? columns - 1 : form.stretching;
    auto* delegate = new StateDelegate(form.rowHeight, stretching, this);
    delegate->setFirstMargin(form.firstMargin);
    setItemDelegate(delegate);
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
    header->setSectionsClickable(false);
    header->setHighlightSections(false);
    header->setMinimumSectionSize(u(2));
    for (int column = 0; column < columns; ++column)
        header->setSectionResizeMode(column, column == stretching ? QHeaderView::Stretch : QHeaderView::ResizeToContents);
    wearPalette();
    const auto refit = [this] {
        resizeRowsToContents();
        updateGeometry();
    };
    connect(header, &QHeaderView::sectionResized, this, refit, Qt::QueuedConnection); // a wider column needs fewer lines
    connect(model, &QAbstractItemModel::modelReset, this, refit);
    connect(model, &QAbstractItemModel::dataChanged, this, refit);
    connect(selectionModel(), &QItemSelectionModel::currentRowChanged, this, [this](const QModelIndex& current) {
        if (current.isValid())
            emit picked(m_model->idAt(current.row()));
    });
    connect(this, &QTableView::doubleClicked, this, [this](const QModelIndex& index) { emit opened(m_model->idAt(index.row())); });
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
    resizeRowsToContents();
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
