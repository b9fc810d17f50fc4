// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/run_context.h"
#include "registry/meter/new_material.h"
#include "registry/meter/return_owed.h"
#include "registry/month/month_due.h"
#include "registry/terms/zone.h"
#include "store/read/board.h"
#include "store/registrar/registrar.h"

#include <optional>
#include <string>
#include <vector>

/// What the screens ask of the registry, and what comes back: values only, made on the registry's own thread.
namespace mk::desktop {

/// A meter on the board, and since when it may not be used.
struct BoardLine {
    store::BoardRow row;
    std::optional<base::Moment> since;   ///< from when the reason that stands first holds; none where it has no moment
    std::optional<base::Moment> asOf {}; ///< the registry cannot be asked: this is what it said then
    bool waits = false;                  ///< something of this meter is kept here and not judged yet: nothing of then is a promise any more
};

/// An open vial with the last day on which it may be used.
struct VialLine {
    std::string vial, lot;
    std::optional<registry::Level> level; ///< none: a strip vial
    std::optional<base::Date> lastDay;
    std::vector<registry::ReasonCode> against;       ///< empty where it may be used
    std::optional<registry::VialDebt::What> owes {}; ///< before its first use
};

struct BoardAnswer {
    base::Moment at;
    registry::Zone zone = registry::Zone::utc();
    std::optional<base::WardId> ward; ///< none: all wards
    std::vector<registry::acts::WardAdded> wards;
    std::vector<registry::acts::OperatorEnrolled> people;
    std::vector<BoardLine> lines;                        ///< by meter
    std::vector<VialLine> vials;                         ///< of the ward; empty for all wards
    std::vector<registry::MonthSignature> monthsLate {}; ///< nobody signed them, and the day for it has passed; oldest first
    base::Seq head;
    bool signInSetUp = false;
    int autoLogoffMinutes = 5;           ///< without a key or a touch, after which whoever is signed in is signed off
    std::optional<base::Moment> asOf {}; ///< the registry cannot be asked: this is what it said then
    bool mayKeep = false;                ///< while a server is away, controls and reports may be kept on this workstation
};

struct SheetQuestion {
    base::MeterId meter;
    base::OperatorId person;
    std::optional<base::StripVialId> stripVial; ///< none: the one that the ward used last
    std::vector<std::pair<registry::Level, base::ControlVialId>> controlVials;
};

/// The control vial of one level with everything that judges a run on it, as the registry gathers it.
struct SheetLevel {
    registry::Level level {};
    std::string vialId; ///< as asked or remembered; may be on no record
    registry::KeptContext known {};
    std::vector<registry::RangeRecord> beside {}; ///< of the other levels: what a result typed for the wrong one may lie in
    VialLine line {};
};

struct SheetAnswer {
    base::Moment at;
    registry::Zone zone = registry::Zone::utc();
    BoardLine meter;
    std::optional<registry::OperatorRecord> person;
    std::string stripVialId;
    std::optional<registry::StripVialRecord> stripVial;
    std::optional<registry::StripLotRecord> stripLot;
    VialLine stripLine;
    std::optional<base::Moment> rememberedAt; ///< when the ward used this strip vial last
    base::MeterId rememberedFrom;
    std::vector<SheetLevel> levels;          ///< the policy's required levels, in its order
    std::vector<registry::SetRecord> before; ///< the meter's last sets, newest first
    std::optional<base::Moment> due;         ///< when the last accepted set stops clearing the meter
    int clearanceHours = 24;
    bool unjudged = false; ///< the server is away: vials, ranges and people cannot be looked up
};

struct MeterAnswer {
    base::Moment at;
    registry::Zone zone = registry::Zone::utc();
    BoardLine meter;
    std::vector<registry::SetRecord> sets; ///< oldest first, the last six weeks
    std::vector<registry::IncidentRecord> incidents;
    std::vector<registry::StateSpell> states;
    std::vector<registry::PairRecord> pairs;
    std::vector<registry::LookbackRecord> lookbacks;
    std::vector<registry::AskedForReturn> wayBack; ///< what it owes before it may be used; empty unless it is on hold or withdrawn
    std::vector<std::pair<std::string, std::string>> people; ///< id and name
};

struct RecordAnswer {
    base::MeterId meter;
    base::Result<std::vector<store::Outcome>> outcome = base::refused("nothing was asked");
    BoardAnswer board;                         ///< of the meter's ward, after it
    std::optional<BoardLine> line;             ///< the meter as it stands now
    std::vector<registry::OwedForReturn> owed; ///< before it may be used again; empty unless it is on hold or withdrawn
    std::vector<registry::RunRecord> runs;     ///< of the set that was recorded, oldest first, all attempts
    std::optional<base::Moment> kept {};       ///< the server is away: kept on this workstation, and not judged
    bool mayHaveArrived = false;               ///< the line broke after it was sent
};

/// One act, or one set, that waited on this workstation while the server was away.
struct DeliveredLine {
    base::MeterId meter;
    base::Moment since;
    std::vector<registry::Act> acts; ///< as they were typed
    std::string refusal;             ///< why the registry did not take it; empty where it did
};

/// What a try to reach the server came to.
struct ContactAnswer {
    std::optional<base::Fault> fault;     ///< none: it is there
    std::vector<DeliveredLine> delivered; ///< now, in order, taken or not
    std::vector<DeliveredLine> unread;    ///< not taken, now or before, and nobody has read of it yet
    std::size_t waiting = 0;              ///< still here
    std::string trouble;                  ///< with the queue itself
    registry::Zone zone = registry::Zone::utc();
};

/// What became of signing in. The proof of it stays with the registry's thread.
struct SignInAnswer {
    base::OperatorId person;
    bool admitted = false;
    bool mustReplace = false; ///< the secret was given out by somebody else: the new one comes next
    std::string problem {};   ///< where not admitted: one plain line
    std::int64_t failedBefore = 0;
};

} // namespace mk::desktop
