// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/read/board.h"
#include "store/registrar/registrar.h"
#include "support/private_server.h"

#include <QSqlQuery>
#include <QTemporaryDir>

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

/// A registry file with one meter, its materials and people (the common ground of handbook 16), and a clock that a test sets.
namespace mk::store::sample {

class StoreDesk {
public:
    /// policy  as its document says; empty: that of today
    explicit StoreDesk(const std::vector<std::pair<std::string, std::string>>& policy = {});

    base::Moment at(std::string_view text) const;
    /// The registry: a file, or an address where the tests use a server.
    const std::string& path() const { return m_place; }
    Session& session() { return *m_session; }
    Registrar& registrar() { return *m_registrar; }
    void goTo(std::string_view text) { m_now = at(text).utcMs; }
    base::Moment now() const { return m_zone.at(m_now); }
    /// Another session and another registrar, as after a restart.
    void reopen();

    base::Result<std::vector<Outcome>> tryRecord(const registry::Act& act, const std::string& id = {});
    Outcome record(const registry::Act& act, const std::string& id = {});
    registry::acts::ControlRun aRun(const std::string& set, std::string_view time, registry::Level level, const std::string& result) const;
    /// Goes to the time and records low, then high a minute later.
    void runSet(const std::string& set, std::string_view time, const std::string& low, const std::string& high);
    /// Takes acts over as if they had stood in their files, in the order given.
    ImportReport importFiles(const std::vector<registry::Act>& acts);

    Reader reader(base::Seq asOf = Reader::kNewest);
    registry::SetRecord set(const std::string& id, base::Seq asOf = Reader::kNewest);
    registry::Fitness fitness(std::string_view time, base::Seq asOf = Reader::kNewest);
    base::Seq head();
    std::vector<Entry> entries();
    std::vector<Entry> entriesOf(std::string_view kind);

    /// Runs on a plain connection of its own, as any program that opens the file could.
    void onPlainConnection(const std::function<void(QSqlQuery&)>& what);

private:
    void openRegistrar();
    void recordGround();

    registry::Zone m_zone;
    QTemporaryDir m_folder;
    std::string m_place = support::newPlace(m_folder.filePath(QStringLiteral("desk.mk")));
    std::int64_t m_now = 0;
    std::unique_ptr<Session> m_session;
    std::unique_ptr<Registrar> m_registrar;
};

/// A version that the coordinator adopts: the usual settings, but for these.
registry::acts::PolicyChanged adoption(base::Moment from, const registry::PolicyPairs& changed);

base::Decimal decimal(const std::string& typed);
std::string codes(const registry::Fitness& fitness);

} // namespace mk::store::sample
