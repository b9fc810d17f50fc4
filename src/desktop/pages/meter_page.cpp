// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/pages/meter_page.h"

#include "desktop/parts/frame_parts.h"
#include "desktop/parts/stale_board.h"
#include "desktop/parts/return_way.h"
#include "desktop/parts/standing.h"
#include "words/numbers.h"
#include "words/reasons.h"
#include "words/return_steps.h"
#include "words/return_steps.h"
#include "words/terms.h"
#include "report/drawing/control_chart.h"
#include "words/faults.h"

#include <QFileDialog>
#include <QHBoxLayout>
#include <QVBoxLayout>

#include <algorithm>

namespace mk::desktop {

using registry::Level;
using registry::Verdict;

namespace {

report::ChartTheme chartTheme(const QPalette& palette)
{
    const Tokens& t = tokensOf(palette);
    report::ChartTheme theme;
    theme.paper = t.paper;
    theme.surface = t.surface;
    theme.ink = t.ink;
    theme.quiet = t.quiet;
    theme.line = t.line;
    theme.hairline = t.hairline;
    theme.picked = t.picked;
    theme.action = t.action;
    theme.use = t.use;
    theme.soon = t.soon;
    theme.stop = t.stop;
    theme.hold = t.hold;
    theme.onAction = t.onAction;
    theme.font = fontOf(TextSize::Body);
    theme.font.setPixelSize(u(2));
    theme.inset = u(2);
    return theme;
}

/// The run of a level that speaks for its set: the newest attempt.
const registry::RunRecord* speaking(const registry::SetRecord& set, Level level)
{
    for (auto run = set.runs.rbegin(); run != set.runs.rend(); ++run)
        if (run->run.level == level)
            return &*run;
    return nullptr;
}

QString reasonsOf(const registry::SetRecord& set)
{
    QStringList parts;
    for (const auto& rule : set.judged.rules)
        parts << words::text(rule);
    for (const auto& run : set.runs)
        for (const auto& cause : run.judged.invalidBecause)
            parts << words::atTheSheet(cause);
    for (const auto& run : set.runs)
        if (run.judged.verdict == Verdict::Rejected && run.judged.inRange.has_value() && !*run.judged.inRange)
            parts << MeterPage::tr("%1 %2 out of range").arg(words::level(run.run.level), words::reading(run.run.result));
    parts.removeDuplicates();
    if (set.judged.attempt > 1)
        parts << MeterPage::tr("attempt %1").arg(set.judged.attempt);
    QStringList drift;
    for (const auto& flag : set.judged.drift.flags)
        if (set.judged.drift.counted && std::ranges::find(set.judged.rules, flag) == set.judged.rules.end())
            drift << words::text(flag);
    if (!drift.isEmpty())
        parts << MeterPage::tr("drift: %1").arg(drift.join(QStringLiteral(", ")));
    return parts.join(QStringLiteral("; "));
}

CellRow setRow(const registry::SetRecord& set, const MeterAnswer& answer)
{
    CellRow row { words::text(set.judged.set.value), {}, false };
    row.cells.push_back({ .text = words::dayAndTime(set.judged.lastAt, answer.zone) });
    for (const Level level : { Level::Low, Level::High }) {
        const auto* run = speaking(set, level);
        row.cells.push_back({ .text = run != nullptr ? words::reading(run->run.result) : QString(), .right = true });
        row.cells.push_back({ .text = run != nullptr && run->judged.z ? words::score(*run->judged.z, 2) : QString(), .right = true });
    }
    row.cells.push_back({ .text = words::verdict(set.judged.verdict),
        .tone = toneOf(set.judged.verdict),
        .weight = Weight::Semibold,
        .shape = shapeOf(set.judged.verdict) });
    row.cells.push_back({ .text = reasonsOf(set) });
    const std::string by = set.runs.empty() ? std::string() : set.runs.back().run.by.value;
    const auto person = std::ranges::find(answer.people, by, &std::pair<std::string, std::string>::first);
    row.cells.push_back({ .text = words::text(person != answer.people.end() ? person->second : by) });
    return row;
}

} // namespace

MeterPage::MeterPage(bool mayWrite, QWidget* parent)
    : Page(parent),
      m_mayWrite(mayWrite),
      m_empty(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Quiet, this)),
      m_chart(new report::ControlChart(this)),
      m_sets(new CellView(new CellModel({ { tr("Sets") }, { tr("low"), true }, { tr("z"), true }, { tr("high"), true }, { tr("z"), true },
                                            { tr("Verdict") }, { tr("Because") }, { tr("By") } },
                              this),
          { .rowHeight = 3.6, .stretching = 6 }, this)),
      m_file(new CellView(new CellModel({ {}, {} }, this),
          { .rowHeight = 3, .headerHeight = 0, .firstMargin = 0, .pickable = false, .onPaper = true }, this)),
      m_fileTitle(new SideTitle(QString(), {}, this)),
      m_way(new ReturnWay(this)),
      m_wayTitle(new SideTitle(tr("Owed before it may be used"), {}, this)),
      m_wayBox(makeWay())
{
    layOut();
    connect(m_chart, &report::ControlChart::setSelected, this, &MeterPage::onChartSelected);
    connect(m_sets, &CellView::picked, this, &MeterPage::onRowPicked);
    auto* save = pageAction(this, tr("Save the chart"), tr("Ctrl+S"), QKeySequence(Qt::CTRL | Qt::Key_S));
    connect(save, &QAction::triggered, this, &MeterPage::saveChart);
    if (!m_mayWrite)
        return;
    m_incident = pageAction(this, tr("Report a fall or fault"), tr("F3"), QKeySequence(Qt::Key_F3));
    m_control = pageAction(this, tr("Run a control"), tr("F2"), QKeySequence(Qt::Key_F2));
    connect(m_control, &QAction::triggered, this, [this] { emit controlAsked(m_meter); });
    connect(m_incident, &QAction::triggered, this, [this] { emit incidentAsked(m_meter); });
}

void MeterPage::layOut()
{
    auto* panel = new QWidget(this);
    panel->setBackgroundRole(QPalette::Base);
    panel->setAutoFillBackground(true);
    auto* chart = new QVBoxLayout(panel);
    chart->setContentsMargins(0, u(0.5), 0, 0);
    chart->setSpacing(0);
    m_empty->setContentsMargins(u(2), u(2), u(2), u(2));
    m_empty->setText(tr("No control of the last six weeks is on record. The chart appears with the first set that is run or imported."));
    m_empty->hide();
    chart->addWidget(m_empty);
    chart->addWidget(m_chart, 1);
    auto* top = new QHBoxLayout;
    top->setSpacing(u(4));
    top->addWidget(panel, 1);
    top->addWidget(m_wayBox);
    auto* layout = new QVBoxLayout(this);
    layout->setContentsMargins(u(4), 0, u(4), u(2));
    layout->setSpacing(u(1.4));
    layout->addLayout(top, 1);
    layout->addWidget(makeFoot());
}

QWidget* MeterPage::makeWay()
{
    auto* box = new QWidget(this);
    auto* side = new QVBoxLayout(box);
    side->setContentsMargins(0, 0, 0, 0);
    side->setSpacing(0);
    side->addWidget(m_wayTitle);
    side->addWidget(m_way, 1);
    box->setFixedWidth(u(44));
    box->hide();
    return box;
}

QWidget* MeterPage::makeFoot()
{
    m_sets->setAccessibleName(tr("Sets of this meter, newest first"));
    m_file->setAccessibleName(tr("The file of this meter"));
    auto* side = new QVBoxLayout;
    side->setContentsMargins(0, 0, 0, 0);
    side->setSpacing(0);
    side->addWidget(m_fileTitle);
    side->addWidget(m_file, 1);
    auto* sideBox = new QWidget(this);
    sideBox->setLayout(side);
    sideBox->setFixedWidth(u(44));
    auto* box = new QWidget(this);
    auto* foot = new QHBoxLayout(box);
    foot->setContentsMargins(0, 0, 0, 0);
    foot->setSpacing(u(4));
    foot->addWidget(m_sets, 1);
    foot->addWidget(sideBox);
    box->setMinimumHeight(u(22.4));
    m_foot = box;
    fitFoot();
    return box;
}

/// As high as the file of the meter is, as far as the chart can give way.
void MeterPage::fitFoot()
{
    const int wanted = m_fileTitle->height() + m_file->sizeHint().height() + 1;
    m_foot->setMaximumHeight(std::clamp(wanted, u(22.4), u(36)));
}

void MeterPage::resizeEvent(QResizeEvent* event)
{
    Page::resizeEvent(event);
    fitFoot();
}

void MeterPage::begin(const QString& meter)
{
    if (m_meter != meter) {
        m_answer.reset();
        m_sets->cells()->setRows({});
        m_file->cells()->setRows({});
        m_wayBox->hide(); // what another meter owed is not this one's
    }
    m_problem.clear();
    m_meter = meter;
    m_fileTitle->setTitle(tr("The file of %1").arg(meter));
    emit changed();
}

void MeterPage::setAnswer(const MeterAnswer& answer)
{
    const QString kept = m_sets->pickedId();
    m_answer = answer;
    m_problem.clear();
    fillSets();
    fillChart();
    fillFile();
    fillWay();
    m_sets->pick(m_sets->cells()->rowWith(kept) >= 0 ? kept : m_sets->cells()->idAt(0));
    emit changed();
}

void MeterPage::sayProblem(const QString& text)
{
    m_problem = text;
    emit changed();
}

void MeterPage::fillChart()
{
    const bool any = !m_answer->sets.empty();
    m_empty->setVisible(!any);
    m_chart->setVisible(any);
    if (!any)
        return;
    const base::MeterId id = m_answer->meter.row.history.meter.act.meter;
    const base::Moment from = m_answer->sets.front().judged.firstAt;
    m_chart->setScene(
        report::controlChartScene({ id, m_answer->sets, m_answer->incidents, m_answer->states }, m_answer->zone, from, m_answer->at),
        chartTheme(palette()));
}

void MeterPage::fillSets()
{
    const auto& model = m_answer->meter.row.history.model;
    const QString unit = model ? words::unit(model->act.unit) : QString();
    m_sets->cells()->setColumns({ { tr("Sets, %1").arg(unit) }, { tr("low"), true }, { tr("z"), true }, { tr("high"), true },
        { tr("z"), true }, { tr("Verdict") }, { tr("Because") }, { tr("By") } });
    std::vector<CellRow> rows;
    for (auto set = m_answer->sets.rbegin(); set != m_answer->sets.rend(); ++set)
        rows.push_back(setRow(*set, *m_answer));
    m_sets->cells()->setRows(std::move(rows));
}

void MeterPage::fillFile()
{
    const auto& history = m_answer->meter.row.history;
    const auto& zone = m_answer->zone;
    std::vector<CellRow> rows;
    const auto add = [&](const QString& what, const QString& text, bool code = false, Weight weight = Weight::Regular) {
        CellRow row { what, {}, false };
        row.cells.push_back({ .text = what, .tone = Tone::Quiet });
        row.cells.push_back({ .text = text, .weight = weight, .code = code, .right = true });
        rows.push_back(std::move(row));
    };
    add(tr("Model, serial"),
        tr("%1, %2").arg(words::text(history.meter.act.model.value), words::text(history.meter.act.serial.value_or("none"))), true);
    add(tr("Ward, on record since"),
        tr("%1, %2").arg(words::text(history.ward.value), words::longDay(zone.dateOf(history.meter.act.enrolled))));
    if (history.stripVial)
        add(tr("Strip lot, vial"),
            tr("%1, %2").arg(words::text(history.stripVial->vial.lot.value), words::text(history.stripVial->vial.vial.value)), true);
    if (history.newestPair)
        add(tr("Last comparison"),
            history.newestPair->judged.outcome == registry::PairOutcome::Inside
                ? tr("%1, met").arg(words::longDay(zone.dateOf(history.newestPair->pair.meterAt)))
                : tr("%1, failed").arg(words::longDay(zone.dateOf(history.newestPair->pair.meterAt))));
    else
        add(tr("Last comparison"), tr("none on record"));
    if (history.newestAccepted)
        add(tr("Last accepted set"), words::dayAndTime(history.newestAccepted->judged.lastAt, zone));
    if (!history.openLookbacks.empty())
        add(tr("Look-back"), tr("open, from %1").arg(words::dayAndTime(history.openLookbacks.front().lookback.from, zone)), false,
            Weight::Semibold);
    m_file->cells()->setRows(std::move(rows));
    fitFoot();
}

void MeterPage::fillWay()
{
    m_way->setSteps(m_answer->wayBack, m_answer->people, m_answer->zone);
    m_wayTitle->setRight(mk::words::doneOf(m_answer->wayBack));
    m_wayBox->setVisible(!m_answer->wayBack.empty());
}

void MeterPage::onChartSelected(int index)
{
    if (!m_answer || index < 0 || index >= static_cast<int>(m_chart->scene().sets.size()))
        return;
    const QString set = words::text(m_chart->scene().sets[static_cast<std::size_t>(index)].set.value);
    if (m_sets->pickedId() != set)
        m_sets->pick(set);
}

void MeterPage::onRowPicked(const QString& set)
{
    const auto& sets = m_chart->scene().sets;
    const auto found = std::ranges::find_if(sets, [&](const report::SceneSet& scene) { return words::text(scene.set.value) == set; });
    if (found == sets.end())
        return;
    const auto index = static_cast<std::size_t>(found - sets.begin());
    if (m_chart->selectedSet() != index)
        m_chart->selectSet(index);
}

void MeterPage::saveChart()
{
    if (!m_answer || m_answer->sets.empty())
        return;
    auto* dialog = new QFileDialog(this, tr("Save the chart of %1").arg(m_meter), QString(), tr("Chart (*.pdf *.svg *.png)"));
    dialog->setAttribute(Qt::WA_DeleteOnClose);
    dialog->setAcceptMode(QFileDialog::AcceptSave);
    dialog->setDefaultSuffix(QStringLiteral("pdf"));
    connect(dialog, &QFileDialog::fileSelected, this, [this](const QString& path) {
        if (const base::Done saved = m_chart->save(path); !saved)
            sayProblem(mk::words::said(saved.error()));
    });
    dialog->open();
}

BandText MeterPage::band() const
{
    BandText band { .question = tr("What happened to %1, and how do you know?").arg(m_meter) };
    if (!m_problem.isEmpty()) {
        band.answer = m_problem;
        return band;
    }
    if (!m_answer) {
        band.answer = tr("The file of %1 is being read.").arg(m_meter);
        return band;
    }
    const Standing standing = standingOf(m_answer->meter, m_answer->at, m_answer->zone);
    if (m_answer->meter.asOf)
        band.question = tr("What happened to %1? The answer stands %2.")
                            .arg(m_meter, ageInWords(*m_answer->meter.asOf, m_answer->at, m_answer->zone));
    band.shape = standing.shape;
    band.shapeTone = standing.tone;
    const auto& counted = m_answer->meter.row.history.newestCounted;
    if (counted && counted->judged.drift.drifts() && counted->judged.drift.driftsSince()) {
        band.answer = tr("%1 drifts since %2.").arg(m_meter, words::shortDay(m_answer->zone.dateOf(*counted->judged.drift.driftsSince())));
        //: a state as its own sentence: Withdrawn.
        band.tail = tr("%1.").arg(
            standing.when.isEmpty() || !standing.usable ? standing.state : standing.state + QChar(u' ') + standing.when);
        band.tailTone = standing.tone;
    } else {
        band.answer = tr("%1.").arg(standing.sentence);
        band.tone = standing.tone;
    }
    return band;
}

QList<QAction*> MeterPage::bandActions() const
{
    return m_mayWrite ? QList<QAction*> { m_incident, m_control } : QList<QAction*>();
}

QList<KeyHint> MeterPage::keys() const
{
    QList<KeyHint> keys { { tr("← → ↑ ↓"), tr("set by set") }, { tr("Ctrl+S"), tr("save the chart") } };
    if (m_mayWrite)
        keys << KeyHint { tr("F2"), tr("run a control") } << KeyHint { tr("F3"), tr("report a fall or fault") };
    return keys << KeyHint { tr("F6"), tr("to the scan field") } << KeyHint { tr("Esc"), tr("back") };
}

QString MeterPage::note() const
{
    if (!m_answer)
        return {};
    const auto count = m_answer->sets.size();
    return count == 1 ? tr("1 set of the last 43 days, none hidden") : tr("%1 sets of the last 43 days, none hidden").arg(count);
}

QWidget* MeterPage::firstFocus() const
{
    return m_sets;
}

} // namespace mk::desktop
