// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/parts/cell_view.h"
#include "desktop/desk/desk_values.h"
#include "desktop/parts/page.h"

namespace mk::report {
class ControlChart;
}

namespace mk::desktop {

class ReturnWay;
class SideTitle;
class ToneLabel;

/// One meter: what happened to it, and how do you know? The chart, its sets, its file.
class MeterPage final : public Page {
    Q_OBJECT

public:
    explicit MeterPage(bool mayWrite, QWidget* parent = nullptr);

    /// A meter whose answer is on its way.
    void begin(const QString& meter);
    void setAnswer(const MeterAnswer& answer);
    void sayProblem(const QString& text);
    const QString& meter() const { return m_meter; }
    report::ControlChart* chart() const { return m_chart; }
    CellView* sets() const { return m_sets; }
    /// Hidden unless the meter is on hold or withdrawn.
    ReturnWay* wayBack() const { return m_way; }

    BandText band() const override;
    QList<QAction*> bandActions() const override;
    QList<KeyHint> keys() const override;
    QString note() const override;
    QWidget* firstFocus() const override;

protected:
    void resizeEvent(QResizeEvent* event) override;

signals:
    void controlAsked(const QString& meter);
    void incidentAsked(const QString& meter);

private:
    void layOut();
    QWidget* makeWay();
    QWidget* makeFoot();
    void fitFoot();
    void fillChart();
    void fillWay();
    void fillSets();
    void fillFile();
    void onChartSelected(int index);
    void onRowPicked(const QString& set);
    void saveChart();

    bool m_mayWrite;
    QString m_meter;
    QString m_problem;
    std::optional<MeterAnswer> m_answer;
    ToneLabel* m_empty;
    report::ControlChart* m_chart;
    CellView* m_sets;
    CellView* m_file;
    SideTitle* m_fileTitle;
    ReturnWay* m_way;
    SideTitle* m_wayTitle;
    QWidget* m_wayBox;
    QWidget* m_foot = nullptr;
    QAction* m_control = nullptr;
    QAction* m_incident = nullptr;
};

} // namespace mk::desktop
