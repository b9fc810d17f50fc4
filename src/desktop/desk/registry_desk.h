// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"
#include "desktop/desk/desk_worker.h"

#include <QObject>
#include <QThread>
#include <QTimer>

#include <chrono>

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
    /// Tries to reach a lost server now; it is tried with growing pauses anyway.
    void tryAgain();
    /// A person has read what the registry did not take.
    void refusalsRead();
    bool isLost() const { return m_lost; }
    /// Records acts that a person made, all or none. Every such request is answered.
    Number record(const base::MeterId& meter, std::vector<store::NewAct> acts, const base::OperatorId& person);
    Number signIn(const base::OperatorId& person, store::Secret secret, const std::optional<base::WardId>& ward);
    Number replaceSecret(
        const base::OperatorId& person, store::Secret present, store::Secret next, const std::optional<base::WardId>& ward);
    /// Ends the session of whoever is signed in, after everything that was asked before.
    void signOff();

signals:
    void boardAnswered(quint64 number, const mk::base::Result<mk::desktop::BoardAnswer>& answer);
    void sheetAnswered(quint64 number, const mk::base::Result<mk::desktop::SheetAnswer>& answer);
    void meterAnswered(quint64 number, const mk::base::Result<mk::desktop::MeterAnswer>& answer);
    void recorded(quint64 number, const mk::desktop::RecordAnswer& answer);
    void signInAnswered(quint64 number, const mk::desktop::SignInAnswer& answer);
    /// Another program wrote to the same registry.
    void changedElsewhere();
    /// The server cannot be reached; said once, until it is back.
    void lost(const mk::base::Fault& fault);
    /// It was tried again, in vain.
    void stillLost(const mk::base::Fault& fault);
    /// The server is there, after a loss or at the start, and what waited here was delivered.
    void back(const mk::desktop::ContactAnswer& answer);

private:
    /// Runs `ask` on the registry's thread, and `answer` with what it gave on this one.
    template <typename Ask, typename Answer>
    void post(Ask ask, Answer answer);

    void onLoss(const std::optional<base::Fault>& fault);
    void onContact(const ContactAnswer& answer);
    void lookForOthers();

    DeskOptions m_options;
    QThread m_thread;
    DeskWorker* m_worker;
    QTimer m_poll;
    Number m_last = 0;
    Number m_lastBoard = 0, m_lastSheet = 0, m_lastMeter = 0;
    bool m_polling = false;
    bool m_lost = false;
    bool m_trying = false;
    bool m_reached = false; ///< the server has let us in before
    QTimer m_again;
    std::chrono::milliseconds m_pause {};
};

} // namespace mk::desktop
