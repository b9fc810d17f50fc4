// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/index/rows/catalogue_rows.h"
#include "store/index/rows/control_rows.h"
#include "store/index/rows/lot_rows.h"
#include "store/index/rows/meter_rows.h"
#include "store/journal/act_key_row.h"

#include <tuple>

/// Every table of the index, in the order in which `verify` compares them: an index table is added here.
namespace mk::store {

struct PolicyRow {
    static constexpr std::string_view table = "policy", order = "version";
    std::int64_t version = 1;
    std::optional<base::Moment> since {};
    base::Seq from;
    static void describe(auto& v, auto& s) { v("version", s.version), v("from_at", s.since, Stored::Instant), v("from_seq", s.from); }
};

struct ClockNoticeRow {
    static constexpr std::string_view table = "clock_notice", order = "seq";
    base::Seq seq;
    std::string direction;
    base::Moment now;
    static void describe(auto& v, auto& s) { v("seq", s.seq), v("direction", s.direction), v("now_at", s.now, Stored::Instant); }
};

/// An entry that an annulment took back.
struct AnnulledRow {
    static constexpr std::string_view table = "annulled", order = "seq";
    base::Seq seq;
    base::Seq by;
    static void describe(auto& v, auto& s) { v("seq", s.seq), v("by_seq", s.by); }
};

using IndexRows = std::tuple<ActKeyRow, PolicyRow, WardRow, ModelRow, MeterRow, OperatorRow, StripLotRow, StripVialRow, ControlLotRow,
    ControlVialRow, AssignedRangeRow, VialEndRow, LotEventRow, IncidentRow, ReturnStepRow, MeterStateRow, MeterWardRow, MeterStopRow,
    SegmentBoundaryRow, ControlRunRow, RunVerdictRow, SetVerdictRow, ComparisonRow, LookbackRow, CorrectionRow, NoteRow, ClockNoticeRow,
    AnnulledRow>;

/// The tables whose rows an annulment closes by the entry that made them. Runs are closed by their set, verdicts by the next one.
using RowsThatAnnulmentCloses
    = std::tuple<WardRow, ModelRow, MeterRow, OperatorRow, StripLotRow, StripVialRow, ControlLotRow, ControlVialRow, AssignedRangeRow,
        VialEndRow, LotEventRow, IncidentRow, ReturnStepRow, MeterStateRow, MeterWardRow, SegmentBoundaryRow, ComparisonRow>;

/// Calls f.template operator()<R>() for each row type of a list.
template <typename List, typename F>
void forEachRowType(F&& f)
{
    [&]<typename... R>(std::tuple<R...>*) { (f.template operator()<R>(), ...); }(static_cast<List*>(nullptr));
}

} // namespace mk::store
