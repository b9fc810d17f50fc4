// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/pages/delivery_page.h"

#include "desktop/parts/cell_view.h"
#include "desktop/parts/frame_parts.h"
#include "desktop/look/look_style.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <QHBoxLayout>
#include <QPushButton>
#include <QVBoxLayout>

namespace mk::desktop {

namespace {

/// "Control: low 47, high 296"
QString typedIn(const std::vector<registry::Act>& acts)
{
    QStringList results, reports;
    for (const auto& act : acts) {
        if (const auto* run = std::get_if<registry::acts::ControlRun>(&act))
            results << DeliveryPage::tr("%1 %2").arg(words::level(run->level), words::reading(run->result));
        else if (const auto* incident = std::get_if<registry::acts::IncidentReported>(&act))
            reports << DeliveryPage::tr("Report: %1").arg(words::incident(incident->what));
    }
    if (!results.isEmpty())
        reports.prepend(DeliveryPage::tr("Control: %1").arg(results.join(QStringLiteral(", "))));
    return reports.join(QStringLiteral("; "));
}

} // namespace

DeliveryPage::DeliveryPage(QWidget* parent)
    : Page(parent),
      m_list(new CellView(
          new CellModel({ { tr("Meter") }, { tr("Kept") }, { tr("What was typed") }, { tr("Why it was not taken") } }, this), {}, this)),
      m_how(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Ink, this)),
      m_trouble(new ToneLabel(TextSize::Body, Weight::Semibold, Tone::Ink, this)),
      m_done(new QPushButton(this))
{
    m_list->setAccessibleName(tr("What was not taken"));
    m_list->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Maximum);
    m_how->setWordWrap(true);
    m_how->setText(tr(
        "Nothing of these is on record. Write them down, then record them again with what was wrong put right, or give them to the coordinator. They stay "
        "on this workstation until you press the button."));
    m_trouble->setWordWrap(true);
    setButtonKind(*m_done, ButtonKind::Likely);
    m_done->setAutoDefault(true);
    connect(m_done, &QPushButton::clicked, this, [this] {
        emit readByPerson();
        emit finished();
    });
    auto* buttons = new QHBoxLayout;
    buttons->addWidget(m_done);
    buttons->addStretch(1);
    auto* layout = new QVBoxLayout(this);
    layout->setContentsMargins(u(4), 0, u(4), u(2));
    layout->setSpacing(u(3));
    layout->addWidget(m_list);
    layout->addWidget(m_trouble);
    layout->addWidget(m_how);
    layout->addLayout(buttons);
    layout->addStretch(1);
}

void DeliveryPage::setUnread(const std::vector<DeliveredLine>& lines, const QString& trouble, const registry::Zone& zone)
{
    m_count = static_cast<int>(lines.size());
    std::vector<CellRow> rows;
    for (const auto& line : lines) {
        CellRow row { words::text(line.meter.value) + QString::number(rows.size()), {}, false };
        row.cells.push_back({ .text = words::text(line.meter.value),
            .size = TextSize::Heading,
            .weight = Weight::Semibold,
            .shape = StateShape::BarSquare,
            .shapeTone = Tone::Stop });
        row.cells.push_back({ .text = words::dayAndTime(line.since, zone) });
        row.cells.push_back({ .text = typedIn(line.acts) });
        row.cells.push_back({ .text = words::sentence(line.refusal) });
        rows.push_back(std::move(row));
    }
    m_list->setVisible(!rows.empty());
    m_list->cells()->setRows(std::move(rows));
    m_how->setVisible(m_count > 0);
    m_trouble->setVisible(!trouble.isEmpty());
    m_trouble->setText(trouble);
    setButtonText(*m_done, m_count > 0 ? tr("I have written them down") : tr("I have read it"), tr("Enter"));
    emit changed();
}

BandText DeliveryPage::band() const
{
    return { .question = tr("What became of what was kept here?"),
        .answer = m_count == 0 ? tr("The queue of this workstation had a fault.")
            : m_count == 1     ? tr("One record was not taken.")
                               : tr("%1 records were not taken.").arg(m_count) };
}

QList<KeyHint> DeliveryPage::keys() const
{
    return { { tr("Enter"), m_count > 0 ? tr("you have written them down") : tr("you have read it") },
        { tr("Esc"), tr("back to the ward; they stay here") } };
}

QWidget* DeliveryPage::firstFocus() const
{
    return m_done;
}

} // namespace mk::desktop
