// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/pages/incident_sheet.h"

#include "ui_incident_sheet.h"

#include "desktop/parts/frame_parts.h"
#include "desktop/look/look_style.h"
#include "desktop/look/shape_holder.h"
#include "words/numbers.h"
#include "words/terms.h"
#include "registry/meter/meter_life.h"

namespace mk::desktop {

using registry::IncidentKind;

namespace {

/// In the order of how often a ward has to say it.
constexpr IncidentKind kKinds[] = { IncidentKind::Dropped, IncidentKind::ErrorCode, IncidentKind::Wet, IncidentKind::Damaged,
    IncidentKind::ImplausibleResult, IncidentKind::WrongUnit, IncidentKind::BatteryChanged, IncidentKind::ClockWrong,
    IncidentKind::Temperature, IncidentKind::Soiled, IncidentKind::Cleaned, IncidentKind::NotInUse, IncidentKind::Found,
    IncidentKind::SoftwareUpdated, IncidentKind::FieldNotice };

QString timeText(base::Moment moment, const registry::Zone& zone)
{
    return words::text(base::toText(zone.dateOf(moment))) + QChar(u' ') + words::time(moment, zone);
}

QString effectInWords(IncidentKind kind)
{
    const registry::IncidentEffect& effect = registry::effectOf(kind);
    if (effect.withdraws)
        return IncidentSheet::tr("Saving withdraws the meter. Only the coordinator brings it back.");
    if (effect.holds)
        return effect.needsInspection()
            ? IncidentSheet::tr("Saving puts the meter on hold until somebody looked it over and both levels are accepted.")
            : IncidentSheet::tr("Saving puts the meter on hold until both levels are accepted.");
    if (kind == IncidentKind::Soiled)
        return IncidentSheet::tr("Saving keeps the meter from use until its cleaning is recorded.");
    return IncidentSheet::tr("Saving does not take the meter out of use by itself.");
}

} // namespace

IncidentSheet::IncidentSheet(QWidget* parent) : Page(parent), m_form(std::make_unique<Ui::IncidentSheetForm>())
{
    m_form->setupUi(this);
    layOut();
    for (const IncidentKind kind : kKinds)
        m_form->kindBox->addItem(words::incident(kind), static_cast<int>(kind));
    connect(m_form->kindBox, &QComboBox::currentIndexChanged, this, &IncidentSheet::refresh);
    connect(m_form->atEdit, &QLineEdit::textChanged, this, &IncidentSheet::refresh);
    connect(m_form->noticedEdit, &QLineEdit::textChanged, this, &IncidentSheet::refresh);
    for (QLineEdit* edit : { m_form->atEdit, m_form->noticedEdit })
        connect(edit, &QLineEdit::returnPressed, this, [this] { focusNextChild(); });
    connect(m_form->detailEdit, &QLineEdit::returnPressed, this, &IncidentSheet::save);
    connect(m_form->saveButton, &QPushButton::clicked, this, &IncidentSheet::save);
    connect(m_form->leaveButton, &QPushButton::clicked, this, &Page::finished);
}

IncidentSheet::~IncidentSheet() = default;

void IncidentSheet::layOut()
{
    m_form->columns->setContentsMargins(u(4), 0, u(4), u(2.8));
    m_form->columns->setSpacing(u(4));
    m_form->mainColumn->setSpacing(u(1.6));
    m_form->formFrame->setBackgroundRole(QPalette::Base);
    m_form->formFrame->setAutoFillBackground(true);
    m_form->formLayout->setContentsMargins(u(3), u(2.5), u(3), u(2.5));
    m_form->timeGrid->setHorizontalSpacing(u(4));
    m_form->timeGrid->setVerticalSpacing(3);
    m_form->timeGrid->setContentsMargins(0, u(2.5), 0, 0);
    m_form->timeGrid->setColumnStretch(2, 1);
    m_form->buttonRow->setSpacing(u(1));
    for (QLabel* caption : { m_form->kindCaption, m_form->atCaption, m_form->noticedCaption, m_form->detailCaption }) {
        wear(*caption, TextSize::Small, Weight::Regular, Tone::Quiet);
        caption->setContentsMargins(0, caption == m_form->detailCaption ? u(1) : 0, 0, 3);
    }
    for (QLabel* label : { m_form->effectLabel, m_form->timeMessageLabel, m_form->patientLabel }) {
        wear(*label, TextSize::Small, Weight::Regular, Tone::Quiet);
        label->setContentsMargins(0, u(0.8), 0, 0);
    }
    m_form->timeMessageLabel->setMinimumHeight(u(5)); // two lines, so that nothing moves when it speaks
    m_form->timeMessageLabel->setAlignment(Qt::AlignTop);
    wear(*m_form->patientLabel, TextSize::Body, Weight::Semibold, Tone::Soon);
    wear(*m_form->problemLabel, TextSize::Small, Weight::Semibold, Tone::Stop);
    m_form->problemLabel->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Preferred);
    m_form->kindBox->setFixedWidth(u(64));
    m_form->kindBox->setMaxVisibleItems(16);
    for (QLineEdit* edit : { m_form->atEdit, m_form->noticedEdit })
        edit->setFixedWidth(u(30));
    setButtonKind(*m_form->saveButton, ButtonKind::Likely);
    m_form->saveButton->setAutoDefault(true);
    setButtonText(*m_form->leaveButton, tr("Back without a report"), tr("Esc"));
    m_form->sideBox->setFixedWidth(u(44));
    auto* side = m_form->sideColumn;
    side->setContentsMargins(0, 0, 0, 0);
    side->setSpacing(0);
    side->addWidget(new SideTitle(tr("Two times"), {}, this));
    const auto paragraph = [&](const QString& text) {
        auto* label = new ToneLabel(TextSize::Body, Weight::Regular, Tone::Ink, this);
        label->setText(text);
        label->setWordWrap(true);
        side->addSpacing(u(1.5));
        side->addWidget(label);
        side->addSpacing(u(3.5));
    };
    paragraph(
        tr("Say when it happened, and when it was noticed. If you do not know, take the last moment at which the meter was surely well."));
    side->addWidget(new SideTitle(tr("Whom to tell"), {}, this));
    paragraph(tr("If a patient may have come to harm, tell the responsible clinician now, and report it where your hospital reports "
                 "incidents. This record does not replace that."));
    side->addStretch(1);
}

void IncidentSheet::begin(const base::MeterId& meter, const base::OperatorId& person, base::Moment now, const registry::Zone& zone)
{
    m_meter = meter;
    m_person = person;
    m_now = now;
    m_zone = zone;
    m_saving = false;
    m_form->kindBox->setCurrentIndex(0);
    m_form->atEdit->setText(timeText(now, zone));
    m_form->noticedEdit->setText(timeText(now, zone));
    m_form->detailEdit->clear();
    m_form->problemLabel->clear();
    refresh();
    emit changed();
}

std::optional<IncidentKind> IncidentSheet::kind() const
{
    const QVariant value = m_form->kindBox->currentData();
    return value.isValid() ? std::optional(static_cast<IncidentKind>(value.toInt())) : std::nullopt;
}

std::optional<base::Moment> IncidentSheet::timeIn(const QString& text) const
{
    QString whole = text.trimmed();
    if (whole.size() <= 5)
        whole = words::text(base::toText(m_zone.dateOf(m_now))) + QChar(u' ') + whole.rightJustified(5, QChar(u'0'));
    const auto read = base::parseTimeText(whole.toStdString());
    if (!read)
        return std::nullopt;
    if (read->hasOffset)
        return base::momentOf(read->wall, read->offsetMinutes);
    const auto resolved = m_zone.resolve(read->wall);
    return resolved.kind == registry::Zone::Kind::Never ? std::nullopt : std::optional(resolved.first);
}

void IncidentSheet::refresh()
{
    m_form->effectLabel->setText(kind() ? effectInWords(*kind()) : QString());
    const auto at = timeIn(m_form->atEdit->text());
    const auto noticed = timeIn(m_form->noticedEdit->text());
    // What is typed carries minutes only, so a whole minute is allowed.
    const base::Moment latest = base::plusMs(m_now, 60'000);
    QString message = tr("A time such as 13:20 means today; otherwise write 2026-11-18 13:20.");
    bool good = false;
    if (!at || !noticed)
        message = tr("This is not a time. Write 13:20 for today, or 2026-11-18 13:20.");
    else if (*at > latest || *noticed > latest)
        message = tr("This time lies in the future. Look at the clock.");
    else if (*noticed < *at)
        message = tr("It cannot have been noticed before it happened.");
    else
        good = true;
    wearTone(*m_form->timeMessageLabel, good ? Tone::Quiet : Tone::Stop);
    m_form->timeMessageLabel->setText(message);
    m_form->saveButton->setEnabled(good && !m_saving && kind());
    setButtonText(*m_form->saveButton, m_saving ? tr("Being saved") : tr("Save the report"), m_saving ? QString() : tr("Enter"));
}

void IncidentSheet::save()
{
    if (!m_form->saveButton->isEnabled())
        return;
    registry::acts::IncidentReported incident;
    incident.at = std::min(*timeIn(m_form->atEdit->text()), m_now);
    incident.noticedAt = std::min(*timeIn(m_form->noticedEdit->text()), m_now);
    incident.meter = m_meter;
    incident.by = m_person;
    incident.what = *kind();
    if (const QString detail = m_form->detailEdit->text().trimmed(); !detail.isEmpty())
        incident.detail = detail.toStdString();
    m_saving = true;
    refresh();
    emit saveAsked({ std::move(incident), {} });
}

void IncidentSheet::sayProblem(const QString& text)
{
    m_saving = false;
    m_form->problemLabel->setText(text);
    refresh();
}

BandText IncidentSheet::band() const
{
    return { .question = tr("What happened?"), .answer = tr("%1: report a fall or a fault.").arg(words::text(m_meter.value)) };
}

QList<KeyHint> IncidentSheet::keys() const
{
    return { { tr("Tab"), tr("next field") }, { tr("Shift+Tab"), tr("back") }, { tr("Enter"), tr("saves, in the last field") },
        { tr("F6"), tr("to the scan field") }, { tr("Esc"), tr("back without a report") } };
}

QWidget* IncidentSheet::firstFocus() const
{
    return m_form->kindBox;
}

} // namespace mk::desktop
