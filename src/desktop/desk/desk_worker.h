// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"
#include "registry/policy/policy.h"
#include "store/queue/outbox.h"
#include "store/sign_in/sign_in.h"

#include <QObject>

#include <map>
#include <memory>
#include <set>

namespace mk::desktop {

struct DeskOptions {
    std::string path;
    std::optional<base::Moment> past; ///< looks at this moment, and writes nothing
    store::Clock clock = store::machineClock;
    std::string station = "desk";
    store::PasswordSource password {}; ///< asked on the registry's thread; may wait for a person
    std::string queueFolder {};        ///< where acts are kept while the server is away; empty: nowhere
    std::function<base::Result<std::vector<store::OutboxKey>>()> queueKeys {}; ///< asked on the registry's thread

    bool onServer() const { return path.starts_with("postgresql://") || path.starts_with("postgres://"); }
};

/// Owns the registry's file, on a thread of its own. Every call answers a value; nothing here knows a window.
class DeskWorker final : public QObject {
    Q_OBJECT

public:
    explicit DeskWorker(DeskOptions options) : m_options(std::move(options)) { }

    base::Result<BoardAnswer> board(const std::optional<base::WardId>& ward);
    base::Result<SheetAnswer> sheet(const SheetQuestion& question);
    base::Result<MeterAnswer> meter(const base::MeterId& id);
    RecordAnswer record(const base::MeterId& meter, const std::vector<store::NewAct>& acts, const base::OperatorId& person);
    /// The newest entry, where it is another one than at the last call; another program may have written.
    std::optional<base::Seq> newHead();
    void close();

    // desk_worker_sign_in.cpp
    /// ward  where the person begins to work; whoever was signed in before is signed off
    SignInAnswer signIn(const base::OperatorId& person, const store::Secret& secret, const std::optional<base::WardId>& ward);
    /// A secret that was given out is replaced, and the person signed in with the new one.
    SignInAnswer replaceSecret(
        const base::OperatorId& person, const store::Secret& present, const store::Secret& next, const std::optional<base::WardId>& ward);
    void signOff();
    /// Why the server cannot be reached, from the request that found it out until contact() did reach it. Until then every request is
    /// answered at once, with that or from what was known last.
    const std::optional<base::Fault>& lost() const { return m_lost; }
    /// Tries to reach the server, and delivers what waits here.
    ContactAnswer contact();
    /// A person has read what the registry did not take.
    void refusalsRead();

signals:
    /// Somebody committed to the same registry, perhaps this window.
    void committedSomewhere();

private:
    /// An inspector's view goes on record before it is shown; the same one again does not while they stay signed in.
    base::Done noteShown(const std::string& what);
    base::Done ready();
    base::Done open();
    base::Result<BoardAnswer> readBoard(const std::optional<base::WardId>& ward);
    base::Result<SheetAnswer> readSheet(const SheetQuestion& question);
    base::Result<MeterAnswer> readMeter(const base::MeterId& id);
    base::Done registrarReady();
    // while the server is away (desk_worker_away.cpp)
    const base::Fault& notice(const base::Fault& fault);
    std::vector<store::NewAct> withIds(std::vector<store::NewAct> acts);
    void keepOrSay(RecordAnswer& answer, const std::vector<store::NewAct>& acts, const base::OperatorId& person);
    base::Result<SheetAnswer> sheetFromMemory(const SheetQuestion& question) const;
    base::Done openQueue();
    void deliver(ContactAnswer& answer);
    base::Moment now() const;
    BoardLine lineOf(store::BoardRow row) const;
    base::Done addVials(BoardAnswer& answer);
    /// Where what was remembered may not be used any more, the newest open vial of the ward that may.
    base::Done preferUsable(SheetAnswer& answer);
    base::Done leaveSpentVials(SheetAnswer& answer);
    base::Done fillStripVial(SheetAnswer& answer, const SheetQuestion& question);
    base::Result<SheetLevel> levelOf(SheetAnswer& answer, const SheetQuestion& question, registry::Level level);

    DeskOptions m_options;
    std::unique_ptr<store::Session> m_session;
    std::optional<store::Reader> m_reader;
    std::unique_ptr<store::Registrar> m_registrar;
    base::Seq m_head;
    std::shared_ptr<const store::SignedIn> m_signedIn;
    std::optional<base::WardId> m_signedInOn;
    std::set<std::string> m_shown; ///< what an inspector was shown since they signed in
    std::optional<base::Fault> m_lost;
    std::optional<registry::Policy> m_policy; ///< of the last contact
    std::optional<BoardAnswer> m_lastBoard;
    std::map<std::string, std::string> m_tried; ///< ids of acts whose answer never came, by what the acts say
    std::unique_ptr<store::Outbox> m_queue;
    QMetaObject::Connection m_listening;
};

} // namespace mk::desktop
