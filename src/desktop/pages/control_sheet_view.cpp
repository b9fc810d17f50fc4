// SPDX-License-Identifier: GPL-3.0-or-later
// What the control sheet shows around its results: strip vial, side column, buttons, band and keys.
#include "desktop/pages/control_sheet.h"

#include "ui_control_sheet.h"

#include "desktop/parts/cell_view.h"
#include "desktop/parts/typed_reading.h"
#include "desktop/parts/frame_parts.h"
#include "desktop/parts/level_panel.h"
#include "desktop/look/look_style.h"
#include "desktop/desk/registry_desk.h"
#include "desktop/parts/standing.h"
#include "words/numbers.h"
#include "words/reasons.h"
#include "words/terms.h"

#include <algorithm>

namespace mk::desktop {

using registry::Level;

namespace {

constexpr int kStripSoonDays = 3;

const registry::RunRecord* lastOf(const registry::SetRecord& set, Level level)
{
    for (auto run = set.runs.rbegin(); run != set.runs.rend(); ++run)
        if (run->run.level == level)
            return &*run;
    return nullptr;
}

} // namespace

void ControlSheet::layOut()
{
    m_form->columns->setContentsMargins(u(4), 0, u(4), u(2.8));
    m_form->columns->setSpacing(u(4));
    m_form->mainColumn->setSpacing(u(1.6));
    m_form->stripFrame->setBackgroundRole(QPalette::Base);
    m_form->stripFrame->setAutoFillBackground(true);
    m_form->stripFrame->setFixedHeight(u(13.5));
    m_form->stripLayout->setContentsMargins(u(3), u(1), u(2), u(1));
    m_form->stripLayout->setSpacing(u(4));
    m_form->levelRow->setSpacing(u(2));
    m_form->buttonRow->setSpacing(u(1.5));
    for (QLayout* column :
        { static_cast<QLayout*>(m_form->meterColumn), static_cast<QLayout*>(m_form->stripColumn), static_cast<QLayout*>(m_form->codeColumn),
            static_cast<QLayout*>(m_form->rememberedColumn), static_cast<QLayout*>(m_form->stripStateGrid) })
        column->setSpacing(u(0.5));
    m_form->stripStateGrid->setHorizontalSpacing(u(1));
    m_form->stripLayout->setAlignment(m_form->meterColumn, Qt::AlignVCenter);
    m_form->stripLayout->setAlignment(m_form->stripColumn, Qt::AlignVCenter);
    m_form->stripLayout->setAlignment(m_form->codeColumn, Qt::AlignVCenter);
    m_form->stripLayout->setAlignment(m_form->stripStateGrid, Qt::AlignVCenter);
    m_form->stripLayout->setAlignment(m_form->rememberedColumn, Qt::AlignVCenter);
    for (QLabel* caption :
        { m_form->meterCaption, m_form->stripCaption, m_form->codeCaption, m_form->stripDetailLabel, m_form->rememberedHintLabel })
        wear(*caption, TextSize::Small, Weight::Regular, Tone::Quiet);
    wear(*m_form->meterLabel, TextSize::Heading, Weight::Semibold, Tone::Ink);
    m_form->meterLabel->setMinimumHeight(u(5));
    m_form->meterLabel->setMinimumWidth(u(9));
    wear(*m_form->stripStateLabel, TextSize::Body, Weight::Semibold, Tone::Use);
    wear(*m_form->rememberedLabel, TextSize::Body, Weight::Regular, Tone::Ink);
    wear(*m_form->problemLabel, TextSize::Small, Weight::Semibold, Tone::Stop);
    m_form->problemLabel->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Preferred);
    m_form->stripEdit->setFont(codeFont());
    m_form->stripEdit->setFixedWidth(u(20));
    m_form->codeEdit->setFont(codeFont());
    m_form->codeEdit->setFixedWidth(u(12));
    m_form->codeCaption->hide();
    m_form->codeEdit->hide();
    setButtonKind(*m_form->saveButton, ButtonKind::Likely);
    setButtonText(*m_form->errorButton, tr("Report a fall or fault"), tr("F3"));

    m_form->sideBox->setFixedWidth(u(44));
    auto* side = m_form->sideColumn;
    side->setContentsMargins(0, 0, 0, 0);
    side->setSpacing(0);
    m_before = new CellView(new CellModel({ { {}, false, true }, { {}, true }, { {}, true }, {} }, this),
        { .rowHeight = 4.6, .firstMargin = 0, .columnGap = 1.5, .pickable = false, .onPaper = true }, this);
    m_before->setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Maximum);
    m_before->setAccessibleName(tr("The last sets of this meter"));
    side->addWidget(m_before);
    side->addSpacing(u(3.5));
    m_whyTitle = new SideTitle(tr("Why now"), {}, this);
    side->addWidget(m_whyTitle);
    m_why = new ToneLabel(TextSize::Body, Weight::Regular, Tone::Ink, this);
    side->addWidget(m_why);
    side->addSpacing(u(3.5));
    side->addWidget(new SideTitle(tr("While you test"), {}, this));
    auto* test = new ToneLabel(TextSize::Body, Weight::Regular, Tone::Ink, this);
    test->setText(tr("Mix the control, wipe off the first drop, and keep the meter in control mode."));
    side->addWidget(test);
    side->addStretch(1);
    auto* wins = new ToneLabel(TextSize::Small, Weight::Regular, Tone::Quiet, this);
    wins->setText(tr("Follow the maker's insert and local policy; they win over this program."));
    side->addWidget(wins);
    for (ToneLabel* text : { m_why, test, wins }) {
        text->setWordWrap(true);
        text->setContentsMargins(0, u(1.5), 0, 0);
    }
}

void ControlSheet::fillStrip()
{
    sayStrip();
    for (QLabel* label : { m_form->stripStateLabel, m_form->stripDetailLabel, m_form->rememberedLabel, m_form->rememberedHintLabel })
        wrapBeyond(*label, u(36));
}

void ControlSheet::sayStrip()
{
    const SheetAnswer& answer = *m_answer;
    m_form->meterLabel->setText(words::text(m_meter.value));
    if (!m_form->stripEdit->isModified())
        m_form->stripEdit->setText(words::text(answer.stripVialId));
    const bool needsCode = answer.meter.row.history.model && answer.meter.row.history.model->act.needsCode == registry::YesNo::Yes;
    m_form->codeCaption->setVisible(needsCode);
    m_form->codeEdit->setVisible(needsCode);
    m_form->rememberedLabel->setVisible(answer.rememberedAt.has_value());
    m_form->rememberedHintLabel->setVisible(answer.rememberedAt.has_value());
    if (answer.rememberedAt)
        m_form->rememberedLabel->setText(
            tr("Remembered from %1, %2")
                .arg(words::beside(*answer.rememberedAt, answer.at, answer.zone), words::text(answer.rememberedFrom.value)));
    if (answer.stripVialId.empty()) {
        m_form->stripShape->setShape(std::nullopt);
        m_form->stripStateLabel->clear();
        m_form->stripDetailLabel->setText(tr("Scan or type the strip vial."));
        return;
    }
    if (answer.unjudged) {
        m_form->stripShape->setShape(StateShape::EmptySquare, Tone::Hold);
        wearTone(*m_form->stripStateLabel, Tone::Hold);
        m_form->stripStateLabel->setText(tr("Not looked up"));
        m_form->stripDetailLabel->setText(tr("Read its last day on the label."));
        return;
    }
    if (!answer.stripLine.against.empty() || !answer.stripLine.lastDay) {
        m_form->stripShape->setShape(StateShape::BarSquare, Tone::Stop);
        wearTone(*m_form->stripStateLabel, Tone::Stop);
        m_form->stripStateLabel->setText(tr("Do not use this vial"));
        m_form->stripDetailLabel->setText(words::atTheSheet(
            answer.stripLine.against.empty() ? registry::ReasonCode::StripVialExpired : answer.stripLine.against.front()));
        return;
    }
    const bool soon = base::daysBetween(answer.zone.dateOf(answer.at), *answer.stripLine.lastDay) <= kStripSoonDays;
    m_form->stripShape->setShape(soon ? StateShape::HalfCircle : StateShape::Circle, soon ? Tone::Soon : Tone::Use);
    wearTone(*m_form->stripStateLabel, soon ? Tone::Soon : Tone::Use);
    m_form->stripStateLabel->setText(tr("Good to %1").arg(words::longDay(*answer.stripLine.lastDay)));
    QString detail = tr("Lot %1, released").arg(words::text(answer.stripLine.lot));
    if (answer.stripVial && answer.stripVial->vial.opened)
        detail = tr("Lot %1, released; opened %2")
                     .arg(words::text(answer.stripLine.lot), words::shortDay(answer.zone.dateOf(*answer.stripVial->vial.opened)));
    m_form->stripDetailLabel->setText(detail);
}

void ControlSheet::fillSide()
{
    const SheetAnswer& answer = *m_answer;
    const auto unit = answer.meter.row.history.model ? words::unit(answer.meter.row.history.model->act.unit) : QString();
    m_before->cells()->setColumns(
        { { tr("%1 before now").arg(words::text(m_meter.value)), false, true }, { tr("low"), true }, { tr("high"), true }, { unit } });
    std::vector<CellRow> rows;
    for (const auto& set : answer.before) {
        CellRow row { words::text(set.judged.set.value), {}, false };
        row.cells.push_back({ .text = words::dayAndTime(set.judged.lastAt, answer.zone) });
        for (const Level level : { Level::Low, Level::High }) {
            const auto* run = lastOf(set, level);
            row.cells.push_back({ .text = run != nullptr ? words::reading(run->run.result) : QString(), .right = true });
        }
        const bool plain = set.judged.verdict == registry::Verdict::Accepted;
        row.cells.push_back({ .text = words::verdict(set.judged.verdict), .weight = plain ? Weight::Regular : Weight::Semibold });
        rows.push_back(std::move(row));
    }
    m_before->cells()->setRows(std::move(rows));
    if (m_attempt > 1)
        m_why->setText(tr("The last attempt did not hold. Repeat once with a new strip from the same vial."));
    else if (answer.meter.row.fitness.state != registry::MeterState::InService)
        m_why->setText(tr("The meter is out of use. This control is part of the way back."));
    else if (!answer.due)
        m_why->setText(tr("No accepted control is on record. Both levels come before the first use."));
    else if (*answer.due <= answer.at)
        m_why->setText(tr("The routine control was due %1, %2 hours after the last accepted set.")
                           .arg(words::dayAndTime(*answer.due, answer.zone))
                           .arg(answer.clearanceHours));
    else
        m_why->setText(tr("The routine control is due %1. You may run it earlier.").arg(words::dayAndTime(*answer.due, answer.zone)));
}

void ControlSheet::refreshButtons()
{
    const bool asking = isAsking();
    m_form->saveButton->setEnabled(isComplete() && !m_saving);
    const QString save = asking ? tr("Answer first")
        : m_saving              ? tr("Being saved")
        : m_attempt > 1         ? tr("Save the repeat")
                                : tr("Save both results");
    setButtonText(*m_form->saveButton, save, asking || m_saving ? QString() : tr("Enter"));
    setButtonText(*m_form->leaveButton, holdsResults() ? tr("Save and leave") : tr("Back to the ward"), tr("Esc"));
    m_form->leaveButton->setEnabled(!m_saving);
    m_form->errorButton->setEnabled(!m_saving);
}

BandText ControlSheet::band() const
{
    BandText band { .question = tr("What do I do next?") };
    const QString meter = words::text(m_meter.value);
    if (!m_answer) {
        band.answer = tr("%1: its vials and ranges are being read.").arg(meter);
        return band;
    }
    for (const auto& entry : m_entries) {
        if (entry.panel->isAsking()) {
            band.answer = entry.asking && entry.asking->isAboutUnit()
                ? tr("%1: which unit does it show?").arg(meter)
                : tr("%1: was this the %2 control?").arg(meter, words::level(entry.level));
            return band;
        }
    }
    for (const auto& entry : m_entries) {
        if (!entry.panel->isLocked() && !entry.judged) {
            band.answer = m_attempt > 1
                ? tr("%1: repeat the %2 control with a new strip.").arg(meter, words::level(entry.level))
                : tr("%1: test the %2 control and type what the meter shows.").arg(meter, words::level(entry.level));
            return band;
        }
    }
    band.answer = tr("%1: save the results.").arg(meter);
    return band;
}

QList<KeyHint> ControlSheet::keys() const
{
    if (isAsking())
        return { { tr("← →"), tr("choose") }, { tr("Enter"), tr("answer") }, { tr("F6"), tr("to the scan field") } };
    return { { tr("Enter"), tr("next, then save") }, { tr("Tab"), tr("next field") }, { tr("Shift+Tab"), tr("back") },
        { tr("F3"), tr("report a fall or fault") }, { tr("F6"), tr("to the scan field") },
        { tr("Esc"), holdsResults() ? tr("save what is typed and leave") : tr("back to the ward") } };
}

QString ControlSheet::note() const
{
    return tr("A result that was typed is recorded, also when you leave.");
}

QWidget* ControlSheet::firstFocus() const
{
    for (const auto& entry : m_entries)
        if (!entry.panel->isLocked() && entry.panel->result().isEmpty())
            return entry.panel->findChild<QLineEdit*>(QStringLiteral("resultEdit"));
    return m_form->saveButton;
}

bool ControlSheet::goBack()
{
    leave();
    return true;
}

} // namespace mk::desktop
