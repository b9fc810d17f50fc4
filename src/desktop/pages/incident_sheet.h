// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/parts/page.h"
#include "registry/terms/zone.h"
#include "store/registrar/registrar.h"

#include <memory>

namespace Ui {
class IncidentSheetForm;
}

namespace mk::desktop {

/// A fall, a fault or a change told of one meter. Makes one act and knows no store.
class IncidentSheet final : public Page {
    Q_OBJECT

public:
    explicit IncidentSheet(QWidget* parent = nullptr);
    ~IncidentSheet() override;

    void begin(const base::MeterId& meter, const base::OperatorId& person, base::Moment now, const registry::Zone& zone);
    void sayProblem(const QString& text);
    const base::MeterId& meter() const { return m_meter; }

    BandText band() const override;
    QList<KeyHint> keys() const override;
    QWidget* firstFocus() const override;

signals:
    void saveAsked(const mk::store::NewAct& act);

private:
    void layOut();
    void refresh();
    void save();
    std::optional<registry::IncidentKind> kind() const;
    /// The time that a field holds: "13:20" of today, or with a date before it.
    std::optional<base::Moment> timeIn(const QString& text) const;

    std::unique_ptr<Ui::IncidentSheetForm> m_form;
    base::MeterId m_meter;
    base::OperatorId m_person;
    base::Moment m_now;
    registry::Zone m_zone = registry::Zone::utc();
    bool m_saving = false;
};

} // namespace mk::desktop
