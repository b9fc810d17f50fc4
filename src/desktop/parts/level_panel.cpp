// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/level_panel.h"

#include "ui_level_panel.h"

#include "desktop/parts/flow_layout.h"
#include "desktop/parts/typed_reading.h"
#include "desktop/look/look_style.h"
#include "words/numbers.h"
#include "words/reasons.h"
#include "words/terms.h"

#include <QTimer>

#include <chrono>

namespace mk::desktop {

namespace {

constexpr std::chrono::milliseconds kDeadEnter { 500 };
constexpr int kPanelSoonDays = 3;
constexpr double kBeside = 30, kWhole = 48; ///< in u: as wide as texts beside a field, and in a line of their own, may ask to be

/// From a key that no result has to Enter: a scanner takes less, a person who mistyped takes more.
constexpr qint64 kScanMs = 300;

} // namespace

LevelPanel::LevelPanel(registry::Level level, QWidget* parent)
    : QFrame(parent),
      m_level(level),
      m_form(std::make_unique<Ui::LevelPanelForm>())
{
    m_form->setupUi(this);
    setBackgroundRole(QPalette::Base);
    setAutoFillBackground(true);
    m_form->panelLayout->setContentsMargins(u(3), u(1.4), u(2), u(0.6));
    wear(*m_form->titleLabel, TextSize::Heading, Weight::Semibold, Tone::Ink);
    m_form->titleLabel->setText(words::levelControl(level));
    m_form->titleLabel->setContentsMargins(0, 0, 0, u(1));
    for (QLabel* caption : { m_form->vialCaption, m_form->rangeCaption, m_form->resultCaption }) {
        wear(*caption, TextSize::Small, Weight::Regular, Tone::Quiet);
        caption->setContentsMargins(0, caption == m_form->vialCaption ? 0 : u(2), 0, 3);
    }
    wear(*m_form->vialStateLabel, TextSize::Body, Weight::Semibold, Tone::Use);
    wear(*m_form->vialDetailLabel, TextSize::Small, Weight::Regular, Tone::Quiet);
    wear(*m_form->rangeLabel, TextSize::Answer, Weight::Semibold, Tone::Ink);
    wear(*m_form->rangeUnitLabel, TextSize::Body, Weight::Regular, Tone::Quiet);
    wear(*m_form->unitLabel, TextSize::Heading, Weight::Semibold, Tone::Quiet);
    wear(*m_form->messageLabel, TextSize::Body, Weight::Semibold, Tone::Ink);
    wear(*m_form->detailLabel, TextSize::Small, Weight::Regular, Tone::Quiet);
    m_form->rangeUnitLabel->setContentsMargins(0, u(0.8), 0, 0);
    m_form->vialRow->setSpacing(u(2));
    m_form->vialStateGrid->setVerticalSpacing(0);
    m_form->vialStateGrid->setHorizontalSpacing(u(1));
    m_form->rangeRow->setSpacing(u(1));
    m_form->resultRow->setSpacing(u(2));
    m_form->messageRow->setSpacing(u(1.2));
    m_form->messageRow->setContentsMargins(0, u(1), 0, 0);
    m_form->messageLabel->setMinimumHeight(u(2.9)); // keeps its height, so nothing moves when it speaks
    auto* answers = new FlowLayout(u(1.5));         // one under the other where both do not fit beside each other
    answers->setContentsMargins(0, u(1), 0, 0);
    answers->addWidget(m_form->firstAnswerButton);
    answers->addWidget(m_form->secondAnswerButton);
    m_form->questionRow->setLayout(answers);
    m_form->vialRow->setStretch(1, 1);
    m_form->rangeRow->setStretch(1, 1);
    m_form->messageRow->setStretch(1, 1);
    m_form->vialStateGrid->setColumnStretch(1, 1);
    m_form->rangeCaption->setWordWrap(true);
    m_form->vialEdit->setFont(codeFont());
    m_form->vialEdit->setFixedWidth(u(19));
    m_form->resultEdit->setFont(fontOf(TextSize::Verdict, Weight::Semibold));
    m_form->resultEdit->setFixedSize(u(23), u(9.4));
    m_form->resultEdit->setValidator(new ReadingValidator(m_form->resultEdit));
    m_form->questionRow->hide();
    //: %1 is a level: low
    m_form->resultEdit->setAccessibleName(tr("Result of the %1 control on the meter").arg(words::level(level)));
    m_form->vialEdit->setAccessibleName(tr("Vial of the %1 control").arg(words::level(level)));
    m_form->detailLabel->setMinimumHeight(u(2.8));

    connect(m_form->resultEdit, &QLineEdit::returnPressed, this, &LevelPanel::onEnter);
    connect(m_form->resultEdit, &QLineEdit::inputRejected, this, [this] { m_sinceOddKey.start(); });
    connect(m_form->resultEdit, &QLineEdit::editingFinished, this, [this] {
        if (!m_form->resultEdit->hasFocus())
            emit resultLeft(m_level);
    });
    connect(m_form->resultEdit, &QLineEdit::textEdited, this, [this] { emit resultTouched(m_level); });
    connect(m_form->vialEdit, &QLineEdit::editingFinished, this, [this] {
        if (m_form->vialEdit->isModified()) {
            m_form->vialEdit->setModified(false);
            emit vialEntered(m_level);
        }
    });
    connect(m_form->firstAnswerButton, &QPushButton::clicked, this, [this] { answer(true); });
    connect(m_form->secondAnswerButton, &QPushButton::clicked, this, [this] { answer(false); });
}

LevelPanel::~LevelPanel() = default;

QString LevelPanel::result() const
{
    return m_form->resultEdit->text();
}

QString LevelPanel::vial() const
{
    return m_form->vialEdit->text().trimmed();
}

bool LevelPanel::isAsking() const
{
    return !m_form->questionRow->isHidden();
}

void LevelPanel::onEnter()
{
    const bool scanned = m_sinceOddKey.isValid() && m_sinceOddKey.elapsed() < kScanMs;
    m_sinceOddKey.invalidate();
    if (!scanned)
        return emit resultCommitted(m_level);
    m_form->resultEdit->clear();
    emit resultScanned(m_level);
}

void LevelPanel::setUnjudged(const SheetLevel& level, base::GlucoseUnit unit)
{
    m_form->vialEdit->setText(words::text(level.vialId));
    m_form->unitLabel->setText(words::unit(unit));
    m_form->rangeCaption->setText(tr("Assigned range"));
    m_form->rangeLabel->setText(tr("See the label"));
    m_form->rangeUnitLabel->clear();
    m_form->vialShape->setShape(level.vialId.empty() ? std::nullopt : std::optional(StateShape::EmptySquare), Tone::Hold);
    wearTone(*m_form->vialStateLabel, Tone::Hold);
    m_form->vialStateLabel->setText(level.vialId.empty() ? QString() : tr("Not looked up"));
    m_form->vialDetailLabel->setText(level.vialId.empty() ? tr("Scan or type the vial.") : tr("Read its last day on the label."));
    for (QLabel* label : { m_form->vialStateLabel, m_form->vialDetailLabel, m_form->rangeUnitLabel })
        wrapBeyond(*label, u(kBeside));
}

void LevelPanel::setContext(
    const SheetLevel& level, const QString& stripLot, base::GlucoseUnit unit, base::Moment at, const registry::Zone& zone)
{
    sayContext(level, stripLot, unit, at, zone);
    for (QLabel* label : { m_form->vialStateLabel, m_form->vialDetailLabel, m_form->rangeUnitLabel })
        wrapBeyond(*label, u(kBeside));
}

void LevelPanel::sayContext(
    const SheetLevel& level, const QString& stripLot, base::GlucoseUnit unit, base::Moment at, const registry::Zone& zone)
{
    m_form->vialEdit->setText(words::text(level.vialId));
    m_form->unitLabel->setText(words::unit(unit));
    m_form->rangeCaption->setText(stripLot.isEmpty() ? tr("Assigned range") : tr("Assigned range, strip lot %1").arg(stripLot));
    if (level.known.range) {
        const auto& range = level.known.range->act;
        m_form->rangeLabel->setText(tr("%1 to %2").arg(words::text(range.low.typed()), words::text(range.high.typed())));
        m_form->rangeUnitLabel->setText(tr("%1, both ends allowed").arg(words::unit(range.unit)));
    } else {
        m_form->rangeLabel->setText(tr("None"));
        m_form->rangeUnitLabel->setText(tr("on record for these lots"));
    }
    if (level.vialId.empty()) {
        m_form->vialShape->setShape(std::nullopt);
        m_form->vialStateLabel->clear();
        m_form->vialDetailLabel->setText(tr("Scan or type the vial."));
        return;
    }
    if (!level.line.against.empty() || !level.line.lastDay) {
        m_form->vialShape->setShape(StateShape::BarSquare, Tone::Stop);
        wearTone(*m_form->vialStateLabel, Tone::Stop);
        m_form->vialStateLabel->setText(tr("Do not use this vial"));
        m_form->vialDetailLabel->setText(
            words::atTheSheet(level.line.against.empty() ? registry::ReasonCode::ControlVialExpired : level.line.against.front()));
        return;
    }
    const int left = base::daysBetween(zone.dateOf(at), *level.line.lastDay);
    const bool soon = left <= kPanelSoonDays;
    m_form->vialShape->setShape(soon ? StateShape::HalfCircle : StateShape::Circle, soon ? Tone::Soon : Tone::Use);
    wearTone(*m_form->vialStateLabel, soon ? Tone::Soon : Tone::Use);
    m_form->vialStateLabel->setText(tr("Good to %1").arg(words::longDay(*level.line.lastDay)));
    const auto& vial = level.known.controlVial;
    const auto& lot = level.known.controlLot;
    if (vial && vial->vial.opened && lot && lot->lot.openPeriod) {
        const QString opened = words::shortDay(zone.dateOf(*vial->vial.opened));
        const int count = lot->lot.openPeriod->count;
        const bool days = lot->lot.openPeriod->unit == base::Period::Unit::Days;
        QString text = days ? tr("Opened %1, %2 days").arg(opened).arg(count) : tr("Opened %1, %2 months").arg(opened).arg(count);
        if (soon)
            //: %1 a finished phrase
            text = left == 0 ? tr("%1; today is its last day").arg(text)
                : left == 1  ? tr("%1; one day left").arg(text)
                             : tr("%1; %2 days left").arg(text).arg(left);
        m_form->vialDetailLabel->setText(text);
    }
}

void LevelPanel::setResult(const QString& text)
{
    m_form->resultEdit->setText(text);
}

void LevelPanel::stopTyping()
{
    m_locked = true;
    for (QLineEdit* edit : { m_form->resultEdit, m_form->vialEdit }) {
        edit->setReadOnly(true);
        edit->setFocusPolicy(Qt::NoFocus);
    }
}

void LevelPanel::lock(const QString& result, const QString& message, const QString& detail)
{
    stopTyping();
    m_form->resultEdit->setText(result);
    say(StateShape::Circle, Tone::Use, message, detail);
}

void LevelPanel::keep(const QString& detail)
{
    stopTyping();
    stopAsking();
    m_form->detailLabel->setText(detail);
}

void LevelPanel::unlock()
{
    m_locked = false;
    for (QLineEdit* edit : { m_form->resultEdit, m_form->vialEdit }) {
        edit->setReadOnly(false);
        edit->setFocusPolicy(Qt::StrongFocus);
    }
    m_form->resultEdit->clear();
    stopAsking();
    sayHowToType();
}

void LevelPanel::say(std::optional<StateShape> shape, Tone tone, const QString& message, const QString& detail)
{
    m_form->messageShape->setShape(shape, tone);
    wear(*m_form->messageLabel, TextSize::Body, shape ? Weight::Semibold : Weight::Regular, tone);
    m_form->messageLabel->setText(message);
    wrapBeyond(*m_form->messageLabel, u(kWhole));
    m_form->detailLabel->setText(detail);
    m_form->resultEdit->setAccessibleDescription(message);
}

void LevelPanel::sayHowToType()
{
    say(std::nullopt, Tone::Ink, tr("Type the number, or HI, LO, or the error code."),
        tr("Type it as the meter shows it. Nothing is rounded."));
}

void LevelPanel::ask(const QString& message, const QString& first, const QString& second)
{
    say(StateShape::HalfCircle, Tone::Soon, message, {});
    m_form->detailLabel->hide();
    m_form->firstAnswerButton->setText(first);
    m_form->secondAnswerButton->setText(second);
    const int oneLine = m_form->firstAnswerButton->sizeHint().height() + u(1);
    const bool folded = m_form->questionRow->layout()->heightForWidth(width() - u(5)) > oneLine;
    m_form->resultCaption->setVisible(!folded); // the answers take its room
    m_form->questionRow->show();
    m_form->firstAnswerButton->setFocus(Qt::OtherFocusReason);
    m_awake = false;
    QTimer::singleShot(kDeadEnter, this, [this] { m_awake = true; });
}

void LevelPanel::stopAsking()
{
    m_form->questionRow->hide();
    m_form->resultCaption->show();
    m_form->detailLabel->show();
}

void LevelPanel::answer(bool first)
{
    if (!m_awake)
        return;
    stopAsking();
    emit answered(m_level, first);
}

void LevelPanel::focusResult()
{
    m_form->resultEdit->setFocus(Qt::OtherFocusReason);
    m_form->resultEdit->selectAll();
}

void LevelPanel::focusVial()
{
    m_form->vialEdit->setFocus(Qt::OtherFocusReason);
    m_form->vialEdit->selectAll();
}

} // namespace mk::desktop
