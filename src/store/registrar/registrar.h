// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/version.h"
#include "registry/acts/acts.h"
#include "registry/acts/file_rows.h"
#include "registry/control/questions.h"
#include "registry/meter/fitness.h"
#include "store/journal/entry_act.h"
#include "store/journal/journal.h"
#include "store/read/reader.h"

#include <functional>
#include <memory>
#include <span>
#include <string>
#include <vector>

namespace mk::store {

class ActBatch;
struct BatchGround;
class SignedIn;

/// Milliseconds UTC. The program passes the machine's clock, a test its own.
using Clock = std::function<std::int64_t()>;
std::int64_t machineClock();
/// Milliseconds that only ever run forward at the pace of time, from an arbitrary start.
std::int64_t steadyClock();

/// Makes the ids of entries. The program passes newUuid, a test its own.
using Ids = std::function<std::string()>;
/// A fresh UUID.
std::string newUuid();

/// Who records, and where.
struct Author {
    base::OperatorId person; ///< stands for acts that name nobody
    std::string station;
    std::shared_ptr<const SignedIn> signedIn {}; ///< shared, so that an author can be copied and this not be made; see sign_in.h
};

/// An act on its way into the journal. The id is made by whoever sends it, so that a repeated delivery is recognised.
struct NewAct {
    registry::Act act;
    std::string id;                           ///< a UUID; empty: made here
    std::optional<base::Moment> keptSince {}; ///< kept at a workstation from then on, while the server was away
    bool mayBeLeftOut = false; ///< one of a command's attempts: where the ladder allows no more of them, the others are recorded without it
};

/// What became of one act.
struct Outcome {
    base::Seq seq;
    bool repeated = false;                  ///< the id was known: nothing was written again
    std::vector<Entry> consequences;        ///< verdicts, holds and the like that followed in the same transaction
    std::optional<registry::SetRecord> set; ///< for a control run: its set as it stands after the whole batch
    std::vector<std::string> told {};       ///< for a control run: what others have begun on the meter, in plain lines
    std::optional<base::Fault> leftOut {};  ///< why this attempt was not recorded; then there is no entry
};

/// What the window would have asked about a row before saving it.
struct RowQuestion {
    std::size_t line = 0;
    registry::RunQuestion question;
};

/// What became of one file of an import.
/// questions  times that happen twice
/// asked      results that look as if they were meant otherwise
struct FileReport {
    std::string file;
    std::size_t rows = 0;
    std::size_t added = 0;
    std::size_t unchanged = 0;
    std::vector<registry::RejectedRow> rejected;
    std::vector<std::string> ignoredColumns;
    std::vector<std::pair<std::size_t, std::string>> questions;
    std::vector<RowQuestion> asked;
};
struct ImportReport {
    std::vector<FileReport> files;
    base::Seq seq; ///< the head afterwards
    bool anyRejected() const;
};

/// What a test gives, so that the same registry comes out byte for byte.
struct Founding {
    Ids ids = newUuid;
    std::string program = base::programName();
    bool documentAsGiven = false; ///< the policy holds the settings that are given and no others
};

/// Founds an empty registry: its first two entries are the founding and the policy.
/// settings  those that differ from the default policy
base::Result<base::Seq> found(Session& session, const std::string& zone, std::span<const std::pair<std::string, std::string>> settings,
    const Author& author, const Clock& clock, const Founding& founding = {});

/// The one way into the journal. Under the write lock it reads the history, asks the registry what follows, appends the entries
/// with their index rows, and returns the outcome. Belongs to its session's thread.
class Registrar {
public:
    /// steady  shows a leap of the wall clock between two records; a test passes its own
    static base::Result<std::unique_ptr<Registrar>> open(Session& session, Clock clock, Clock steady = steadyClock, Ids ids = newUuid);
    ~Registrar();

    /// Records acts that a person made, all or none; without those attempts that may be left out and are one too many.
    /// errors  BadInput (unknown ids, a time in the future), Refused (against a rule of the trade), Conflict, Busy, Full, ReadOnly
    base::Result<std::vector<Outcome>> record(std::span<const NewAct> acts, const Author& author);

    /// Appends what the program itself has to say about sign-ins, copies and places; nothing follows from it.
    base::Result<base::Seq> recordOwn(const registry::Act& act, const Author& author);

    /// The same for what can only be decided under the write lock: `decide` reads, and stores credentials if it must, all within the one
    /// transaction. returns  the entries appended; none where `decide` gives no act
    base::Result<std::vector<base::Seq>> recordOwnDecided(
        const std::function<base::Result<std::vector<registry::Act>>(Reader&, base::Moment now)>& decide, const Author& author);

    /// Takes over records made elsewhere (interface.md, What import means).
    /// files  in any order; errors only where nothing could be done at all: rows that are rejected stand in the report
    base::Result<ImportReport> importFiles(std::vector<registry::FileRows> files, const Author& author);

private:
    Registrar(Session& session, Clock clock, Clock steady, Ids ids);
    base::Result<std::vector<Outcome>> recordOnServer(std::span<const NewAct> acts, const Author& author);
    base::Result<std::vector<Outcome>> recordAll(std::span<const NewAct> acts, const Author& author);
    void noteRefusal(std::span<const NewAct> acts, const Author& author, const base::Fault& fault);
    base::Done refresh();
    base::Result<bool> followOthers();
    void rehearse(std::span<const NewAct> acts, const Author& author);
    base::Result<std::vector<Outcome>> recordInto(ActBatch& batch, std::span<const NewAct> acts, const Author& author);
    std::int64_t leapSinceLast(std::int64_t now);
    base::Done readSets(std::span<const NewAct> newActs, const ActBatch& batch, std::vector<Outcome>& outcomes);
    BatchGround ground();
    void dropCaches();

    Session& m_session;
    Clock m_clock;
    Clock m_steady;
    Ids m_ids;
    std::optional<std::pair<std::int64_t, std::int64_t>> m_lastClocks; ///< wall and steady at the last record
    bool m_commitSent = false;
    std::optional<std::pair<std::int64_t, std::int64_t>> m_nextClocks; ///< at the one that is being made
    struct Working;                                                    ///< what was read and may be read again: catalogues, meters' series
    std::unique_ptr<Working> m_working;
};

} // namespace mk::store
