// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/cell_model.h"
#include "desktop/parts/cell_view.h"

#include <QAbstractItemModelTester>
#include <QSignalSpy>
#include <QTest>

#include <gtest/gtest.h>

namespace mk::desktop {
namespace {

CellRow aRow(const QString& id, const QString& state)
{
    return { id, { { .text = id }, { .text = state, .shape = StateShape::Circle, .spoken = QStringLiteral("spoken ") + state } }, false };
}

struct Fixture {
    CellModel model { { { QStringLiteral("Meter") }, { QStringLiteral("State") } } };
    QAbstractItemModelTester tester { &model, QAbstractItemModelTester::FailureReportingMode::Fatal };
};

TEST(CellModel, AnnouncesOnlyTheRowThatChanged)
{
    Fixture f;
    f.model.setRows({ aRow(QStringLiteral("M-01"), QStringLiteral("a")), aRow(QStringLiteral("M-02"), QStringLiteral("b")) });
    QSignalSpy reset(&f.model, &QAbstractItemModel::modelReset);
    QSignalSpy changed(&f.model, &QAbstractItemModel::dataChanged);
    f.model.setRows({ aRow(QStringLiteral("M-01"), QStringLiteral("a")), aRow(QStringLiteral("M-02"), QStringLiteral("c")) });
    EXPECT_EQ(reset.count(), 0);
    ASSERT_EQ(changed.count(), 1);
    EXPECT_EQ(changed.at(0).at(0).toModelIndex().row(), 1);
}

TEST(CellModel, ResetsWhenTheOrderChanges)
{
    Fixture f;
    f.model.setRows({ aRow(QStringLiteral("M-01"), QStringLiteral("a")), aRow(QStringLiteral("M-02"), QStringLiteral("b")) });
    QSignalSpy reset(&f.model, &QAbstractItemModel::modelReset);
    f.model.setRows({ aRow(QStringLiteral("M-02"), QStringLiteral("b")), aRow(QStringLiteral("M-01"), QStringLiteral("a")) });
    EXPECT_EQ(reset.count(), 1);
    EXPECT_EQ(f.model.rowWith(QStringLiteral("M-01")), 1);
    EXPECT_EQ(f.model.rowWith(QStringLiteral("M-09")), -1);
}

TEST(CellModel, SpeaksTheWordsOfAState)
{
    Fixture f;
    f.model.setRows({ aRow(QStringLiteral("M-01"), QStringLiteral("a")) });
    EXPECT_EQ(f.model.index(0, 1).data(Qt::AccessibleTextRole).toString(), QStringLiteral("spoken a"));
    EXPECT_EQ(f.model.index(0, 0).data(Qt::AccessibleTextRole).toString(), QStringLiteral("M-01"));
}

TEST(CellView, LeavesLettersToTheScanFieldAndOpensByEnter)
{
    Fixture f;
    f.model.setRows({ aRow(QStringLiteral("M-01"), QStringLiteral("a")), aRow(QStringLiteral("M-02"), QStringLiteral("b")) });
    CellView view(&f.model, {}, nullptr);
    view.show();
    view.pick(QStringLiteral("M-01"));
    QSignalSpy opened(&view, &CellView::opened);
    QTest::keyClick(&view, Qt::Key_M);
    EXPECT_EQ(view.pickedId(), QStringLiteral("M-01"));
    QTest::keyClick(&view, Qt::Key_Down);
    QTest::keyClick(&view, Qt::Key_Return);
    ASSERT_EQ(opened.count(), 1);
    EXPECT_EQ(opened.at(0).at(0).toString(), QStringLiteral("M-02"));
}

} // namespace
} // namespace mk::desktop
