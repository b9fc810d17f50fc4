// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/fitness.h"
#include "registry/terms/text_form.h"
#include "store/read/board.h"
#include "store/registrar/registrar.h"
#include "store/copies/verification.h"
#include "support/private_server.h"

#include <QByteArray>
#include <QStringList>
#include <QTemporaryDir>

#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

/// The common ground of the handbook's stories (section 16), on a real file with a test clock.
namespace mk::journeys {

/// Materials and people of a set; the defaults are the common ground's.
struct Setting {
    std::string meter = "M1";
    std::string person = "N1";
    std::string strip = "V1";
    std::string low = "L1";
    std::string high = "H1";
    base::GlucoseUnit unit = base::GlucoseUnit::MgPerDl;
};

/// How the ward is laid out before the story begins.
struct Ground {
    std::string day = "2026-05-01"; ///< lots, people, meter and vials are there from 05:00 of that day
    std::string stripExpiry = "2030-12-31";
    std::string stripPeriod = "90 d";
    bool empty = false;                                           ///< found the registry only
    std::vector<std::pair<std::string, std::string>> policy = {}; ///< settings other than the default ones
};

/// A ward whose policy was adopted before meters had usual values of their own: rules against the target, drift by the group's charts.
Ground olderGround();

/// A registry file in a folder of its own. Times are texts as a person of the ward writes them, in Europe/Berlin.
class WardWorld {
public:
    explicit WardWorld(const Ground& ground = {});

    const registry::Zone& zone() const { return m_zone; }
    base::Moment at(std::string_view text) const;
    /// The registry: a file, or an address where the tests use a server.
    const std::string& path() const { return m_place; }
    store::Session& session() { return *m_session; }
    store::Registrar& registrar() { return *m_registrar; }

    /// Time passes: the wall clock and the steady clock go on together.
    void goTo(std::string_view text);
    /// Somebody sets the workstation's clock; no time passes.
    void leapTo(std::string_view text);
    /// The program ends and is started again.
    void reopen();

    base::Result<std::vector<store::Outcome>> tryRecord(const registry::Act& act);
    /// Records an act that must be accepted, at the clock's time.
    store::Outcome record(const registry::Act& act);
    /// Why an act is not recorded; empty where it is.
    std::string refusalOf(const registry::Act& act);

    registry::acts::ControlRun aRun(const std::string& set, registry::Level level, const std::string& result, const Setting& setting = {});
    /// Goes to the time and records one run then.
    registry::SetRecord run(
        const std::string& set, std::string_view time, registry::Level level, const std::string& result, const Setting& setting = {});
    /// Low at the time and high two minutes later.
    registry::SetRecord runSet(
        const std::string& set, std::string_view time, const std::string& low, const std::string& high, const Setting& setting = {});
    void incident(
        registry::IncidentKind kind, std::string_view happened, const std::string& meter = "M1", const std::string& person = "N1");
    void step(registry::ReturnStepKind kind, std::string_view time, const std::string& person = "N1", const std::string& meter = "M1");

    /// As it is known now, or as the entries up to asOf tell it.
    registry::Fitness fitness(std::string_view time, const std::string& meter = "M1", base::Seq asOf = store::Reader::kNewest);
    std::optional<registry::Fitness> asKnownThen(std::string_view time, const std::string& meter = "M1");
    registry::SetRecord set(const std::string& id, base::Seq asOf = store::Reader::kNewest);
    store::Reader reader(base::Seq asOf = store::Reader::kNewest);
    base::Seq head();
    std::vector<store::Entry> entries();
    /// Entries of one kind, oldest first.
    std::vector<store::Entry> entriesOf(std::string_view kind);
    store::Verification verification();

    /// Reads files by name and takes them over, as the import command does.
    store::ImportReport import(const std::map<std::string, std::string>& files);

private:
    void recordGround(const Ground& ground);
    void openRegistrar();

    registry::Zone m_zone;
    QTemporaryDir m_folder;
    std::string m_place = support::newPlace(m_folder.filePath(QStringLiteral("ward.mk")));
    std::int64_t m_wall = 0;
    std::int64_t m_steady = 0;
    std::unique_ptr<store::Session> m_session;
    std::unique_ptr<store::Registrar> m_registrar;
};

/// The common ground as CSV files.
std::map<std::string, std::string> groundFiles();
/// The report of one file; an empty one where the import did not name it.
store::FileReport reportOf(const store::ImportReport& report, std::string_view file);
std::string reasonOfLine(const store::FileReport& report, std::size_t line);

/// The codes of the reasons, sorted, one blank between them.
std::string codes(const registry::Fitness& fitness);
const registry::Reason* reason(const registry::Fitness& fitness, std::string_view code);
/// The whole sentence of a reason; empty where it does not stand.
std::string said(const registry::Fitness& fitness, std::string_view code);
/// What is to be done, most urgent first.
std::vector<std::string> nextSaid(const registry::Fitness& fitness);
base::Decimal decimal(const std::string& typed);

/// What the command line did.
struct Ran {
    int status = -1;
    QByteArray out, err;
};

/// The program of the command line on that registry.
Ran cli(const WardWorld& ward, QStringList arguments);

} // namespace mk::journeys
