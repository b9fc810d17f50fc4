// SPDX-License-Identifier: GPL-3.0-or-later
// What becomes of the results that were typed on the sheet: what is sent, when, and what is kept until it stands on record.
#include "desktop/pages/control_sheet.h"

#include "ui_control_sheet.h"

#include "desktop/desk/registry_desk.h"
#include "desktop/parts/level_panel.h"
#include "desktop/parts/typed_reading.h"

#include <algorithm>
#include <utility>

namespace mk::desktop {

using registry::acts::ControlRun;

bool ControlSheet::holdsResults() const
{
    return !m_saving && (!m_moved.empty() || std::ranges::any_of(m_entries, [](const Entry& entry) {
        return !entry.panel->isLocked() && readTyped(entry.panel->result());
    }));
}

bool ControlSheet::holdsTyping() const
{
    return holdsResults()
        || std::ranges::any_of(m_entries, [](const Entry& entry) { return !entry.panel->isLocked() && !entry.panel->result().isEmpty(); });
}

/// The runs as they are recorded, and what they show of the meter: one in another unit than its model's has been set wrongly.
std::vector<store::NewAct> ControlSheet::acts(std::vector<ControlRun> runs) const
{
    std::ranges::stable_sort(runs, {}, &ControlRun::at);
    std::optional<base::Moment> wrongUnit;
    std::vector<store::NewAct> acts;
    for (auto& run : runs) {
        if (run.unit != unitOfModel())
            wrongUnit = run.at;
        acts.push_back({ std::move(run), {} });
    }
    if (wrongUnit) {
        registry::acts::IncidentReported incident;
        incident.at = *wrongUnit;
        incident.noticedAt = incident.at;
        incident.meter = m_meter;
        incident.by = m_person;
        incident.what = registry::IncidentKind::WrongUnit;
        acts.push_back({ std::move(incident), {} });
    }
    return acts;
}

void ControlSheet::send(bool committedAlone, bool leaving)
{
    std::vector<ControlRun> runs = m_moved;
    for (auto& entry : m_entries) {
        auto run = committedAlone && !entry.committed ? std::nullopt : runOf(entry);
        entry.sent = run.has_value();
        if (run)
            runs.push_back(std::move(*run));
    }
    if (runs.empty())
        return;
    m_saving = true;
    refreshButtons();
    emit saveAsked(acts(std::move(runs)), leaving);
}

void ControlSheet::save()
{
    if (!isComplete() || m_saving)
        return;
    // A value typed without Enter has not been looked at yet.
    for (auto& entry : m_entries) {
        if (entry.panel->isLocked() || entry.judged)
            continue;
        if (!entry.at)
            entry.at = m_desk.now(m_answer->zone);
        if (askIfDoubtful(entry)) {
            refreshButtons();
            emit changed();
            return;
        }
        judge(entry);
    }
    send(false, false);
}

void ControlSheet::leave()
{
    if (m_saving)
        return;
    if (!holdsResults()) {
        emit finished();
        return;
    }
    send(false, true);
}

void ControlSheet::saveCommitted()
{
    if (!m_saving)
        send(true, true);
}

void ControlSheet::settle()
{
    m_saving = false;
    m_moved.clear();
    for (auto& entry : m_entries)
        if (std::exchange(entry.sent, false)) {
            entry.asking.reset();
            entry.panel->keep(tr("Saved; it stands on record."));
        }
    m_form->problemLabel->clear();
    refreshButtons();
    emit changed();
}

void ControlSheet::sayProblem(const QString& text)
{
    m_saving = false;
    m_form->problemLabel->setText(text);
    refreshButtons();
    emit changed();
}

} // namespace mk::desktop
