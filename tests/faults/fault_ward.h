// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/registrar/registrar.h"

#include <QProcess>
#include <QStringList>
#include <QTemporaryDir>

#include <functional>
#include <memory>
#include <string>
#include <vector>

/// A small invented ward in a file of its own, and the real program to let loose on it.
namespace mk::faults {

/// What a finished process left.
struct Ran {
    int status = -1; ///< -1: did not start, did not end in time, or crashed
    std::string out;
    std::string err;
};

/// Runs meterkeep-cli and waits for its end.
/// inChild  called in the child between fork and exec: limits, rights
Ran runCli(const QStringList& arguments, const std::function<void()>& inChild = {});

/// The one line on standard error that a refused command leaves: not empty, one line end, nothing of a library's own chatter.
void expectOneLine(const std::string& err);

/// Folder, registry and files of one test. Two meters of model K-2 (mg/dL, 20 to 600) on ward W1, both levels with targets, every
/// consumable in date through 2020, nurse hale, coordinator rook. All times of runs lie in 2020, so every machine's clock is past them.
class FaultWard {
public:
    /// folder  where the registry lies; empty: a temporary folder that goes with the object
    explicit FaultWard(const std::string& folder = {});
    /// A registry with a founding of its own; all others of a process are copies of one.
    static std::string anotherRegistry();

    const std::string& folder() const { return m_folder; }
    const std::string& registry() const { return m_registry; }
    /// `--registry PATH` and the rest.
    QStringList command(const QStringList& rest) const;
    /// Writes a file into the folder. returns its path
    std::string write(const std::string& name, const std::string& bytes) const;
    /// "seq digest" of the journal's newest entry.
    std::string head() const;

private:
    QTemporaryDir m_temporary;
    std::string m_folder;
    std::string m_registry;
};

/// Header of control_runs.csv with all its columns.
std::string runsHeader();
/// One row of that file on consumables of the ward; the time is minutes after the first of March 2020.
std::string runsRow(const std::string& set, int minute, const std::string& level, const std::string& result,
    const std::string& unit = "mg/dL", const std::string& meter = "M-01");
/// A file of whole two-level sets, an hour apart, all inside their ranges.
std::string runsFile(const std::string& prefix, int sets);

/// The two runs of one set inside its ranges, seconds after the first of March 2020.
/// ids  where true, each run carries an entry id made of the set's name
std::vector<store::NewAct> setOf(const std::string& name, const std::string& meter, int second, bool ids);

std::string readBytes(const std::string& path);

/// What the index says about the sets of a registry, read plainly.
struct StoredSets {
    std::vector<std::string> whole;  ///< both runs, one verdict that stands, judged runs
    std::vector<std::string> broken; ///< anything else
    std::vector<std::string> twice;  ///< names of runs that are stored more than once
};
StoredSets storedSets(const std::string& registry);

/// Thousands of tries instead of dozens.
bool longTests();

/// Who records in these tests.
inline const store::Author kHale { base::OperatorId("hale"), "test" };

/// Chain and index of the registry hold; says what does not.
void expectVerified(const std::string& registry);

} // namespace mk::faults
