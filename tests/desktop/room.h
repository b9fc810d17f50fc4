// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/parts/cell_view.h"
#include "desktop/parts/flow_layout.h"
#include "desktop/parts/frame_parts.h"

#include <QLabel>
#include <QPushButton>
#include <QWidget>

#include <gtest/gtest.h>

/// Is there room for what a window says? A text that is cut, or a window that outgrows a small screen, is a fault in any language.
namespace mk::desktop {

inline std::string named(const QWidget& widget, const QString& text)
{
    return std::string(widget.metaObject()->className()) + " " + widget.objectName().toStdString() + " \"" + text.toStdString() + "\" in "
        + std::to_string(widget.width()) + "x" + std::to_string(widget.height());
}

inline void expectRoomForLabel(const QLabel& label, const char* page)
{
    const auto* elides = qobject_cast<const ToneLabel*>(&label);
    if (label.text().isEmpty() || (elides != nullptr && elides->mayElide()))
        return;
    if (label.wordWrap()) {
        EXPECT_LE(label.heightForWidth(label.width()), label.height() + 1) << page << ": " << named(label, label.text());
    } else {
        EXPECT_LE(label.fontMetrics().horizontalAdvance(label.text()), label.contentsRect().width() + 1)
            << page << ": " << named(label, label.text());
    }
    const bool words = label.wordWrap() && label.textFormat() == Qt::PlainText;
    for (const QString& word : words ? label.text().split(QChar(u' '), Qt::SkipEmptyParts) : QStringList())
        EXPECT_LE(label.fontMetrics().horizontalAdvance(word), label.contentsRect().width() + 1) << page << ": " << named(label, word);
}

inline void expectRoomForCells(const CellView& view, const char* page)
{
    const auto* delegate = qobject_cast<const StateDelegate*>(view.itemDelegate());
    for (int row = 0; row < view.cells()->rowCount(); ++row)
        for (int column = 0; column < view.cells()->columnCount(); ++column) {
            const QModelIndex index = view.cells()->index(row, column);
            EXPECT_LE(delegate->needOf(index).least, view.columnWidth(column) + 2)
                << page << ": " << named(view, index.data().toString()) << " in column " << column << " of " << view.columnWidth(column);
            EXPECT_LE(view.sizeHintForIndex(index).height(), std::max(view.rowHeight(row), 0) + 1)
                << page << ": " << named(view, index.data().toString());
        }
    int wide = 0;
    for (int column = 0; column < view.cells()->columnCount(); ++column)
        wide += view.columnWidth(column);
    EXPECT_TRUE(view.cells()->rowCount() == 0 || wide <= view.viewport()->width() + 1)
        << page << ": " << named(view, view.accessibleName());
}

/// most  the screen that the window must fit on
inline void expectRoom(const QWidget& window, const char* page, const QSize& most)
{
    EXPECT_LE(window.minimumSizeHint().width(), most.width()) << page;
    EXPECT_LE(window.minimumSizeHint().height(), most.height()) << page;
    EXPECT_LE(window.width(), most.width()) << page << " made the window wider";
    EXPECT_LE(window.height(), most.height()) << page << " made the window higher";
    for (const QLabel* label : window.findChildren<QLabel*>())
        if (label->isVisible())
            expectRoomForLabel(*label, page);
    for (const QPushButton* button : window.findChildren<QPushButton*>())
        EXPECT_TRUE(!button->isVisible() || button->sizeHint().width() <= button->width())
            << page << ": " << named(*button, button->text());
    for (const CellView* view : window.findChildren<CellView*>())
        if (view->isVisible())
            expectRoomForCells(*view, page);
    for (const QLayout* layout : window.findChildren<QLayout*>())
        for (int i = 0; dynamic_cast<const FlowLayout*>(layout) != nullptr && i < layout->count(); ++i) // else it lies over what comes next
            if (const QWidget* item = layout->itemAt(i)->widget(); item != nullptr && item->isVisible()) {
                EXPECT_TRUE(layout->geometry().contains(item->geometry())) << page << ": " << named(*item, item->accessibleName());
            }
}

} // namespace mk::desktop
