// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/parts/cell_view.h"
#include "desktop/desk/desk_values.h"
#include "desktop/parts/page.h"

class QStackedWidget;

namespace mk::desktop {

class ShapeMark;
class SideTitle;
class ToneLabel;

/// The ward, most urgent first: may I use this meter?
class WardPage final : public Page {
    Q_OBJECT

public:
    explicit WardPage(bool mayWrite, QWidget* parent = nullptr);

    void setAnswer(const BoardAnswer& answer);
    const std::optional<BoardAnswer>& answer() const { return m_answer; }
    /// The meter with that id, however its letters were typed; empty where there is none.
    QString meterNamed(const QString& typed) const;
    /// Speaks of one meter in the band.
    void scan(const QString& meter);
    /// Says in the band that nothing on record is called that.
    void scanUnknown(const QString& typed);
    /// Says something that just happened; the next scan or Escape takes it away.
    void say(const QString& text);
    /// A coordinator at work here is told of months that nobody signed in time.
    void setCoordinator(bool coordinator);
    void pick(const QString& meter);
    QString pickedMeter() const;
    CellView* board() const { return m_board; }

    BandText band() const override;
    QList<QAction*> bandActions() const override;
    QList<KeyHint> keys() const override;
    QString note() const override;
    bool goBack() override;

signals:
    void meterOpened(const QString& meter);
    void controlAsked(const QString& meter);
    void incidentAsked(const QString& meter);
    void notInUseAsked(const QString& meter);

private:
    void layOut();
    QWidget* makeMonths();
    void fillMonths();
    void fillBoard();
    void fillDue();
    void fillVials();

    bool m_mayWrite;
    bool m_coordinator = false;
    std::optional<BoardAnswer> m_answer;
    QString m_scanned, m_unknown, m_notice;
    CellView* m_board;
    CellView* m_due;
    CellView* m_vials;
    SideTitle* m_vialTitle;
    ToneLabel* m_dueEmpty;
    ToneLabel* m_vialsEmpty;
    ToneLabel* m_boardEmpty;
    ToneLabel* m_months;
    QWidget* m_monthsBox;
    QAction* m_control = nullptr;
    QAction* m_incident = nullptr;
    QAction* m_notInUse = nullptr;
};

} // namespace mk::desktop
