// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"

/// The ward's rules at one place: may an act happen, and what follows from it. Pure over Facts; what follows is handed to Entering.
/// A file for each topic holds what is asked of its acts (admit) and what they bring about (follow), side by side.
namespace mk::registry::desk {

/// On what occasion acts are looked at.
struct Occasion {
    bool imported = false; ///< taken over from elsewhere: stored as it comes; else recorded by a person
    base::Moment now;
    base::OperatorId author {};               ///< who enters; empty where nobody is named
    std::optional<base::Moment> keptSince {}; ///< kept at a workstation from then on, while the server was away
    bool replayed = false;                    ///< its sets are on record: what they were judged on is asked of that

    /// In whose name an act, and what follows from it, stands in the journal.
    std::string nameFor(const Act& act) const;
};

/// Takes what follows from an act into the journal. The facts know it at once.
class Entering {
public:
    Entering() = default;
    Entering(const Entering&) = delete;
    Entering& operator=(const Entering&) = delete;
    virtual ~Entering() = default;
    /// person  in whose name
    virtual base::Result<base::Seq> enter(const Act& act, const std::string& person) = 0;
};

class Judging;

/// What lies at hand while one act is looked at. Made anew for each.
struct Desk {
    Facts& facts;
    Entering& entering;
    Judging& judging; ///< of the batch that the act belongs to
    Occasion occasion;
    std::string person {}; ///< in whose name what follows is entered

    /// When a consequence takes effect: at the act's own time where it was taken over, else now.
    base::Moment effective(base::Moment actAt) const { return occasion.imported ? actAt : occasion.now; }
    base::Result<base::Seq> enter(const Act& act) const;
    base::Done letFollow(const Act& act) const;
};

/// What was seen of an admitted act that its consequences need, and whoever records it.
struct Admitted {
    std::vector<RunRecord> ofItsSet {}; ///< of a run: runs that its set had before this batch
    std::vector<std::string> told {};   ///< of a run: what others have begun on its meter, in plain lines
    bool askedBeyondRuns = false;       ///< more was asked than what only its own meter's runs can change
};

/// May it happen? What waits to be judged on its meter is judged first, where the answer depends on it.
/// errors  why it may not
base::Result<Admitted> admit(const Desk& desk, const Act& act);

/// An admitted act with what the program itself says in it; nothing where it stays as it was given.
base::Result<std::optional<Act>> asEntered(const Desk& desk, const Act& act);

/// What follows from an act that stands in the journal as that entry. Verdicts wait until they are needed: see Judging::settle().
base::Done follow(const Desk& desk, base::Seq seq, const Act& act, Admitted admitted);

} // namespace mk::registry::desk
