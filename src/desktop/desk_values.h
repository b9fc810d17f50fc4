// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/zone.h"
#include "store/board.h"
#include "store/registrar.h"

#include <optional>
#include <string>
#include <vector>

/// What the screens ask of the registry, and what comes back: values only, made on the registry's own thread.
namespace mk::desktop {

/// A meter on the board, and since when it may not be used.
struct BoardLine {
    store::BoardRow row;
    std::optional<base::Moment> since; ///< from when the reason that stands first holds; none where it has no moment
};

/// An open vial with the last day on which it may be used.
struct VialLine {
    std::string vial, lot;
    std::optional<registry::Level> level; ///< none: a strip vial
    std::optional<base::Date> lastDay;
    std::vector<std::string> against; ///< reason codes; empty where it may be used
};

struct BoardAnswer {
    base::Moment at;
    registry::Zone zone = registry::Zone::utc();
    std::optional<base::WardId> ward; ///< none: all wards
    std::vector<registry::acts::WardAdded> wards;
    std::vector<registry::acts::OperatorEnrolled> people;
    std::vector<BoardLine> lines; ///< by meter
    std::vector<VialLine> vials; ///< of the ward; empty for all wards
    base::Seq head;
};

struct SheetQuestion {
    base::MeterId meter;
    base::OperatorId person;
    std::optional<base::StripVialId> stripVial; ///< none: the one that the ward used last
    std::vector<std::pair<registry::Level, base::ControlVialId>> controlVials;
};

/// The control vial of one level with everything that judges a run on it.
struct SheetLevel {
    registry::Level level {};
    std::string vialId; ///< as asked or remembered; may be on no record
    std::optional<registry::ControlVialRecord> vial;
    std::optional<registry::ControlLotRecord> lot;
    std::optional<registry::RangeRecord> range;
    VialLine line;
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
    std::vector<SheetLevel> levels; ///< the policy's required levels, in its order
    std::vector<registry::SetRecord> before; ///< the meter's last sets, newest first
    std::optional<base::Moment> due; ///< when the last accepted set stops clearing the meter
    int clearanceHours = 24;
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
    std::vector<std::pair<std::string, std::string>> people; ///< id and name
};

struct RecordAnswer {
    base::MeterId meter;
    base::Result<std::vector<store::Outcome>> outcome = base::refused("nothing was asked");
    BoardAnswer board; ///< of the meter's ward, after it
    std::optional<BoardLine> line; ///< the meter as it stands now
    std::vector<registry::RunRecord> runs; ///< of the set that was recorded, oldest first, all attempts
};

} // namespace mk::desktop
