// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/pages/ward_page.h"

#include "desktop/parts/frame_parts.h"
#include "desktop/parts/stale_board.h"
#include "desktop/parts/standing.h"
#include "words/numbers.h"
#include "words/policy.h"
#include "words/steps.h"
#include "words/terms.h"

#include <QHBoxLayout>
#include <QVBoxLayout>

#include <algorithm>

namespace mk::desktop {

namespace {

constexpr int kSoonDays = 3; ///< a vial that ends within these is shown as ending soon
constexpr std::size_t kMostDue = 8;

struct RankedLine {
    const BoardLine* line;
    Standing standing;
};

std::vector<RankedLine> rankedLines(const BoardAnswer& answer)
{
    std::vector<RankedLine> lines;
    for (const auto& line : answer.lines)
        lines.push_back({ &line, standingOf(line, answer.at, answer.zone) });
    std::ranges::stable_sort(lines, [](const RankedLine& a, const RankedLine& b) {
        return std::pair(a.standing.rank, a.standing.order) < std::pair(b.standing.rank, b.standing.order);
    });
    return lines;
}

QString meterOf(const BoardLine& line)
{
    return words::text(line.row.history.meter.act.meter.value);
}

CellRow dueRow(const BoardAnswer& answer, const BoardLine& line, const registry::NextStep& step)
{
    const QString when = step.by ? words::beside(*step.by, answer.at, answer.zone) : WardPage::tr("Now");
    CellRow row { meterOf(line) + QChar(u'/') + words::stepSaid(step), {}, false };
    row.cells.push_back({ .text = when, .weight = step.by ? Weight::Regular : Weight::Semibold });
    row.cells.push_back({ .text = meterOf(line), .weight = Weight::Semibold });
    row.cells.push_back({ .text = words::stepSaid(step) });
    return row;
}

/// What a vial owes before its first use; empty where it owes nothing.
QString owedBy(const VialLine& vial)
{
    if (!vial.owes || !vial.against.empty())
        return {};
    switch (*vial.owes) {
    case registry::VialDebt::What::StripControl: return WardPage::tr("control first");
    case registry::VialDebt::What::AskInsert: return WardPage::tr("see the insert");
    case registry::VialDebt::What::ControlBeside: return WardPage::tr("run beside the old");
    }
    return {};
}

CellRow vialRow(const BoardAnswer& answer, const VialLine& vial)
{
    const int left = vial.lastDay ? base::daysBetween(answer.zone.dateOf(answer.at), *vial.lastDay) : -1;
    const bool usable = vial.against.empty();
    const Tone tone = !usable ? Tone::Stop : left <= kSoonDays ? Tone::Soon : Tone::Use;
    const StateShape shape = !usable ? StateShape::BarSquare : left <= kSoonDays ? StateShape::HalfCircle : StateShape::Circle;
    const QString until = !usable ? WardPage::tr("do not use")
        : left <= kSoonDays       ? WardPage::tr("to %1").arg(words::day(*vial.lastDay))
                                  : WardPage::tr("to %1").arg(words::shortDay(*vial.lastDay));
    const QString owed = owedBy(vial);
    const QString what = vial.level ? words::levelControl(*vial.level) : WardPage::tr("Strip");
    CellRow row { words::text(vial.vial), {}, false };
    row.cells.push_back({ .text = what,
        .shape = shape,
        .shapeTone = tone,
        .spoken = usable ? WardPage::tr("%1, usable").arg(what) : WardPage::tr("%1, not usable").arg(what) });
    row.cells.push_back({ .text = words::text(vial.vial), .code = true });
    row.cells.push_back({ .text = owed.isEmpty() ? until : owed, .right = true });
    return row;
}

} // namespace

WardPage::WardPage(bool mayWrite, QWidget* parent)
    : Page(parent),
      m_mayWrite(mayWrite),
      m_board(new CellView(
          new CellModel({ { tr("Meter") }, { tr("May I use it?") }, { tr("Since / until") }, { tr("Why, and what to do next") } }, this),
          {}, this)),
      m_due(new CellView(
          new CellModel({ {}, {}, {} }, this), { .headerHeight = 0, .firstMargin = 0, .pickable = false, .onPaper = true }, this)),
      m_vials(new CellView(
          new CellModel({ {}, {}, {} }, this), { .headerHeight = 0, .firstMargin = 0, .pickable = false, .onPaper = true }, this)),
      m_vialTitle(new SideTitle(tr("Open vials"), tr("usable"), this)),
      m_dueEmpty(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Quiet, this)),
      m_vialsEmpty(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Quiet, this)),
      m_boardEmpty(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Quiet, this)),
      m_months(new ToneLabel(TextSize::Body, Weight::Semibold, Tone::Soon, this)),
      m_monthsBox(makeMonths())
{
    layOut();
    connect(m_board, &CellView::picked, this, &Page::changed);
    connect(m_board, &CellView::opened, this, &WardPage::meterOpened);
    if (!m_mayWrite)
        return;
    m_incident = pageAction(this, tr("Report a fall or fault"), tr("F3"), QKeySequence(Qt::Key_F3));
    m_control = pageAction(this, tr("Run a control"), tr("F2"), QKeySequence(Qt::Key_F2));
    m_notInUse = pageAction(this, tr("Not in use today"), tr("F4"), QKeySequence(Qt::Key_F4));
    connect(m_control, &QAction::triggered, this, [this] { emit controlAsked(pickedMeter()); });
    connect(m_incident, &QAction::triggered, this, [this] { emit incidentAsked(pickedMeter()); });
    connect(m_notInUse, &QAction::triggered, this, [this] { emit notInUseAsked(pickedMeter()); });
}

void WardPage::layOut()
{
    m_board->setAccessibleName(tr("The ward's meters, most urgent first"));
    m_due->setAccessibleName(tr("Due on this ward"));
    m_vials->setAccessibleName(tr("Open vials"));
    m_dueEmpty->setText(tr("Nothing is due."));
    m_vialsEmpty->setText(tr("No open vial is on record here. A vial appears when its opening is recorded or imported."));
    m_boardEmpty->setText(tr("No meter is on record here. Meters appear when the coordinator enrols them or imports meters.csv."));
    for (ToneLabel* label : { m_dueEmpty, m_vialsEmpty, m_boardEmpty }) {
        label->setWordWrap(true);
        label->setContentsMargins(0, u(1.5), 0, 0);
        label->hide();
    }
    auto* caution = new ToneLabel(TextSize::Small, Weight::Regular, Tone::Quiet, this);
    caution->setText(tr("One lancing device, one person. Clean and disinfect a shared meter after every patient, as its insert says."));
    caution->setWordWrap(true);

    auto* main = new QVBoxLayout;
    main->setSpacing(0);
    main->addWidget(m_monthsBox);
    main->addWidget(m_boardEmpty);
    main->addWidget(m_board);
    main->addStretch(1);
    m_board->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Maximum);
    auto* side = new QVBoxLayout;
    side->setSpacing(0);
    side->addWidget(new SideTitle(tr("Due on this ward"), {}, this));
    side->addWidget(m_dueEmpty);
    side->addWidget(m_due, 3);
    side->addSpacing(u(3.5));
    side->addWidget(m_vialTitle);
    side->addWidget(m_vialsEmpty);
    side->addWidget(m_vials, 2);
    side->addStretch(1);
    side->addWidget(caution);
    auto* sideBox = new QWidget(this);
    side->setContentsMargins(0, 0, 0, 0);
    sideBox->setLayout(side);
    sideBox->setFixedWidth(u(44));
    for (CellView* list : { m_due, m_vials })
        list->setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Maximum);
    auto* columns = new QHBoxLayout(this);
    columns->setContentsMargins(u(4), 0, u(4), u(2));
    columns->setSpacing(u(4));
    columns->addLayout(main, 1);
    columns->addWidget(sideBox);
}

QWidget* WardPage::makeMonths()
{
    auto* box = new QWidget(this);
    auto* mark = new ShapeMark(u(1.9), box);
    mark->setShape(StateShape::HalfCircle, Tone::Soon);
    m_months->setObjectName(QStringLiteral("monthsLate"));
    m_months->setWordWrap(true);
    auto* row = new QHBoxLayout(box);
    row->setContentsMargins(u(2), 0, u(2), u(1.5));
    row->setSpacing(u(1.3));
    row->addWidget(mark);
    row->addWidget(m_months, 1);
    box->hide();
    return box;
}

void WardPage::setCoordinator(bool coordinator)
{
    m_coordinator = coordinator;
    fillMonths();
}

void WardPage::fillMonths()
{
    const bool any = m_coordinator && m_answer && !m_answer->monthsLate.empty();
    m_monthsBox->setVisible(any);
    if (!any)
        return;
    const int more = static_cast<int>(m_answer->monthsLate.size()) - 1;
    QString text = words::monthToSign(m_answer->monthsLate.front());
    if (more > 0)
        text += QChar(u' ') + (more == 1 ? tr("One more is late.") : tr("%1 more are late.").arg(more));
    m_months->setText(text);
}

void WardPage::setAnswer(const BoardAnswer& answer)
{
    const QString kept = pickedMeter();
    m_answer = answer;
    fillBoard();
    fillDue();
    fillVials();
    fillMonths();
    if (!kept.isEmpty())
        m_board->pick(kept);
    else if (m_board->cells()->rowCount() > 0)
        m_board->pick(m_board->cells()->idAt(0));
    emit changed();
}

void WardPage::fillBoard()
{
    std::vector<CellRow> rows;
    const auto lines = rankedLines(*m_answer);
    for (std::size_t at = 0; at < lines.size(); ++at) {
        const Standing& standing = lines[at].standing;
        const bool cut = at + 1 < lines.size() && (standing.usable != lines[at + 1].standing.usable);
        CellRow row { meterOf(*lines[at].line), {}, cut };
        row.cells.push_back({ .text = row.id, .size = TextSize::Heading, .weight = Weight::Semibold });
        row.cells.push_back({ .text = standing.state,
            .tone = standing.tone,
            .size = TextSize::Heading,
            .weight = Weight::Semibold,
            .shape = standing.shape,
            .spoken = standing.sentence });
        row.cells.push_back({ .text = standing.when });
        row.cells.push_back({ .text = standing.why, .tone = standing.shape == StateShape::Circle ? Tone::Quiet : Tone::Ink });
        rows.push_back(std::move(row));
    }
    m_board->cells()->setRows(std::move(rows));
    m_boardEmpty->setVisible(m_answer->lines.empty());
    m_board->setVisible(!m_answer->lines.empty());
}

void WardPage::fillDue()
{
    struct Due {
        std::int64_t by;
        CellRow row;
    };
    std::vector<Due> due;
    for (const auto& [line, standing] : rankedLines(*m_answer)) {
        const auto& steps = line->row.fitness.next;
        if (!steps.empty() && (standing.needsHands || standing.usable))
            due.push_back({ steps.front().by ? steps.front().by->utcMs : 0, dueRow(*m_answer, *line, steps.front()) });
    }
    std::ranges::stable_sort(due, {}, &Due::by);
    std::vector<CellRow> rows;
    for (auto& entry : due)
        if (rows.size() < kMostDue)
            rows.push_back(std::move(entry.row));
    m_dueEmpty->setVisible(rows.empty());
    m_due->setVisible(!rows.empty());
    m_due->cells()->setRows(std::move(rows));
}

void WardPage::fillVials()
{
    std::vector<CellRow> rows;
    for (const auto& vial : m_answer->vials)
        rows.push_back(vialRow(*m_answer, vial));
    m_vialTitle->setVisible(m_answer->ward.has_value());
    m_vialsEmpty->setVisible(m_answer->ward && rows.empty());
    m_vials->setVisible(!rows.empty());
    m_vials->cells()->setRows(std::move(rows));
}

QString WardPage::meterNamed(const QString& typed) const
{
    if (!m_answer)
        return {};
    const QString wanted = typed.trimmed();
    for (const auto& line : m_answer->lines)
        if (meterOf(line).compare(wanted, Qt::CaseInsensitive) == 0
            || words::text(line.row.history.meter.act.serial.value_or(std::string())) == wanted)
            return meterOf(line);
    return {};
}

void WardPage::scan(const QString& meter)
{
    m_scanned = meter;
    m_unknown.clear();
    m_notice.clear();
    m_board->pick(meter);
    emit changed();
}

void WardPage::scanUnknown(const QString& typed)
{
    m_unknown = typed;
    m_scanned.clear();
    m_notice.clear();
    emit changed();
}

void WardPage::say(const QString& text)
{
    m_notice = text;
    emit changed();
}

void WardPage::pick(const QString& meter)
{
    m_board->pick(meter);
}

QString WardPage::pickedMeter() const
{
    return m_board->pickedId();
}

BandText WardPage::band() const
{
    BandText band { .question = tr("May I use this meter?") };
    if (!m_answer) {
        band.answer = tr("The registry is being read.");
        return band;
    }
    if (m_answer->asOf)
        //: an age: as of 14:05, 12 minutes ago
        band.question = tr("May I use this meter? The answer stands %1.").arg(ageInWords(*m_answer->asOf, m_answer->at, m_answer->zone));
    if (!m_notice.isEmpty()) {
        band.answer = m_notice;
        return band;
    }
    if (!m_unknown.isEmpty()) {
        band.answer = tr("Nothing here is called “%1”. Check the label, or choose another ward.").arg(m_unknown);
        return band;
    }
    const auto scanned = std::ranges::find(m_answer->lines, m_scanned, [](const BoardLine& line) { return meterOf(line); });
    if (!m_scanned.isEmpty() && scanned != m_answer->lines.end()) {
        const Standing standing = standingOf(*scanned, m_answer->at, m_answer->zone);
        band.answer = standing.sentence;
        band.tone = band.shapeTone = standing.tone;
        band.shape = standing.shape;
        band.large = true;
        return band;
    }
    int usable = 0;
    int waiting = 0;
    for (const auto& line : m_answer->lines) {
        const Standing standing = standingOf(line, m_answer->at, m_answer->zone);
        usable += standing.usable ? 1 : 0;
        waiting += !standing.usable && standing.needsHands ? 1 : 0;
    }
    const int all = static_cast<int>(m_answer->lines.size());
    const QString may = usable == 0 ? tr("None of %1 may be used.").arg(all) : tr("%1 of %2 may be used.").arg(usable).arg(all);
    if (all == 0)
        band.answer = tr("No meter is on record here.");
    else if (waiting == 0)
        //: %1 a whole sentence: 8 of 14 may be used.
        band.answer = tr("%1 None waits for you.").arg(may);
    else if (waiting == 1)
        band.answer = tr("%1 One waits for you.").arg(may);
    else
        band.answer = tr("%1 %2 wait for you.").arg(may).arg(waiting);
    return band;
}

QList<QAction*> WardPage::bandActions() const
{
    return m_mayWrite && m_answer && !m_answer->lines.empty() ? QList<QAction*> { m_incident, m_control } : QList<QAction*>();
}

QList<KeyHint> WardPage::keys() const
{
    QList<KeyHint> keys;
    if (const QString meter = pickedMeter(); !meter.isEmpty()) {
        keys << KeyHint { tr("Enter"), tr("opens %1").arg(meter) };
        if (m_mayWrite && !m_scanned.isEmpty())
            keys << KeyHint { tr("F2"), tr("run a control") } << KeyHint { tr("F3"), tr("report a fall or fault") };
        if (m_mayWrite)
            keys << KeyHint { tr("F4"), tr("not in use today") };
    }
    keys << KeyHint { tr("F11"), tr("wall screen") };
    if (m_mayWrite)
        keys << KeyHint { tr("F12"), tr("who you are") };
    if (!m_scanned.isEmpty() || !m_unknown.isEmpty() || !m_notice.isEmpty())
        keys << KeyHint { tr("Esc"), tr("clears the answer") };
    return keys;
}

QString WardPage::note() const
{
    if (m_answer && m_answer->asOf)
        return tr("Entry %1 was the newest then").arg(words::entryNumber(m_answer->head));
    return m_answer ? tr("All %1 entries stored").arg(words::entryNumber(m_answer->head)) : QString();
}

bool WardPage::goBack()
{
    if (m_scanned.isEmpty() && m_unknown.isEmpty() && m_notice.isEmpty())
        return false;
    m_scanned.clear();
    m_notice.clear();
    m_unknown.clear();
    emit changed();
    return true;
}

} // namespace mk::desktop
