// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk_values.h"
#include "desktop/desk_worker.h"

#include <QObject>
#include <QThread>
#include <QTimer>

namespace mk::desktop {

/// The window's side of the registry. A request is posted and answered later by a signal that carries the request's number;
/// an answer that a newer request of its kind has overtaken is dropped. Nothing here waits.
/// thread  the window's
class RegistryDesk final : public QObject {
    Q_OBJECT

public:
    using Number = quint64;

    explicit RegistryDesk(DeskOptions options, QObject* parent = nullptr);
    ~RegistryDesk() override;

    const DeskOptions& options() const { return m_options; }
    /// Nothing is written while a past moment is shown.
    bool mayWrite() const { return !m_options.past; }
    base::Moment now(const registry::Zone& zone) const;

    Number askBoard(const std::optional<base::WardId>& ward);
    Number askSheet(const SheetQuestion& question);
    Number askMeter(const base::MeterId& meter);
    /// Records acts that a person made, all or none. Every such request is answered.
    Number record(const base::MeterId& meter, std::vector<store::NewAct> acts, const base::OperatorId& person);

signals:
    void boardAnswered(quint64 number, const mk::base::Result<mk::desktop::BoardAnswer>& answer);
    void sheetAnswered(quint64 number, const mk::base::Result<mk::desktop::SheetAnswer>& answer);
    void meterAnswered(quint64 number, const mk::base::Result<mk::desktop::MeterAnswer>& answer);
    void recorded(quint64 number, const mk::desktop::RecordAnswer& answer);
    /// Another program wrote to the same registry.
    void changedElsewhere();

private:
    /// Runs `ask` on the registry's thread, and `answer` with what it gave on this one.
    template <typename Ask, typename Answer> void post(Ask ask, Answer answer);

    DeskOptions m_options;
    QThread m_thread;
    DeskWorker* m_worker;
    QTimer m_poll;
    Number m_last = 0;
    Number m_lastBoard = 0, m_lastSheet = 0, m_lastMeter = 0;
    bool m_polling = false;
};

} // namespace mk::desktop
