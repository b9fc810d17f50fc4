// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts_people.h"

/// What people record about lots, vials and the maker's notices, beyond what a file carries.
namespace mk::registry::acts {

/// One delivery of a lot; a second one of the same lot is a new receipt (handbook 2.2).
struct ShipmentReceived {
    static constexpr std::string_view kind = "shipment.received", file = "", word = "shipment";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    base::OperatorId by;
    std::string lot, shipment;
    Opt<base::Decimal> vials {};
    Opt<std::string> condition {}, indicator {}, place {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("lot", s.lot, Field::Key), v("shipment", s.shipment, Field::Key);
        v("vials", s.vials, Field::Given), v("condition", s.condition, Field::Given), v("indicator", s.indicator, Field::Given);
        v("place", s.place, Field::Given);
    }
};

/// A second person types a range again from the label (handbook 2.3).
struct RangeConfirmed {
    static constexpr std::string_view kind = "range.confirmed", file = "", word = "range-confirm";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::Moment at;
    base::OperatorId by;
    base::StripLotId stripLot;
    base::ControlLotId controlLot;
    Level level {};
    base::Decimal low, high;
    Opt<base::Moment> typedAt {}; ///< the range that it confirms judges no run before
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("strip_lot", s.stripLot, Field::Key),
            v("control_lot", s.controlLot, Field::Key);
        v("level", s.level, Field::Key), v("low", s.low, Field::Key), v("high", s.high, Field::Key);
        v("typed_at", s.typedAt, Field::Program);
    }
};

/// A control on a strip lot that is being verified; no control run of the meter, and clears nothing.
struct LotControlChecked {
    static constexpr std::string_view kind = "lot.control_checked", file = "", word = "lot-control";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    base::OperatorId by;
    base::StripLotId lot;
    base::MeterId meter;
    Level level {};
    base::ControlVialId controlVial;
    Reading result;
    base::GlucoseUnit unit {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("lot", s.lot, Field::Key), v("meter", s.meter, Field::Key);
        v("level", s.level, Field::Key), v("control_vial", s.controlVial, Field::Needed), v("result", s.result, Field::Needed);
        v("unit", s.unit, Field::Needed);
    }
};

/// The same blood on the lot in use and on the new one, on one meter. `sample` is the laboratory's own key, never a patient's.
struct LotSampleCompared {
    static constexpr std::string_view kind = "lot.sample_compared", file = "", word = "lot-sample";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    base::OperatorId by;
    base::StripLotId lot, currentLot;
    base::MeterId meter;
    std::string sample;
    base::Decimal current, candidate;
    base::GlucoseUnit unit {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("lot", s.lot, Field::Key),
            v("current_lot", s.currentLot, Field::Needed);
        v("meter", s.meter, Field::Needed), v("sample", s.sample, Field::Key), v("current", s.current, Field::Needed);
        v("candidate", s.candidate, Field::Needed), v("unit", s.unit, Field::Needed);
    }
};

/// A store was too warm, too cold or too damp for a while (handbook 2.6).
struct ExcursionReported {
    static constexpr std::string_view kind = "excursion.reported", file = "", word = "excursion";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    base::OperatorId by;
    base::Moment from, to;
    base::WardId ward;
    Opt<std::string> place {}, lowest {}, highest {}, knownBy {},
        vials {}; ///< vials: ids, blanks between; none: every open one of the ward
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("from", s.from, Field::Key), v("to", s.to, Field::Key),
            v("ward", s.ward, Field::Key);
        v("place", s.place, Field::Given), v("lowest", s.lowest, Field::Given), v("highest", s.highest, Field::Given),
            v("known_by", s.knownBy, Field::Given);
        v("vials", s.vials, Field::Given);
    }
};

/// The coordinator lets a quarantined vial be used again.
struct VialReleased {
    static constexpr std::string_view kind = "vial.released", file = "", word = "vial-release";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    std::string vial;
    base::OperatorId by;
    std::string reason;
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("vial", s.vial, Field::Key), v("operator", s.by, Field::Key), v("reason", s.reason, Field::Key);
    }
};

/// A maker's notice or recall: what it names is hit (handbook 2.9).
struct NoticeIssued {
    static constexpr std::string_view kind = "notice.issued", file = "", word = "notice";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId by;
    std::string notice; ///< the maker's reference
    std::string text;
    Opt<base::ModelId> model {};
    Opt<std::string> serialFrom {}, serialTo {}, firmware {}, lot {}, vialFrom {}, vialTo {};
    Opt<YesNo> hitsNothing {}; ///< yes: whoever records it knows that nothing here is called so
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("notice", s.notice, Field::Key), v("text", s.text, Field::Needed);
        v("model", s.model, Field::Given), v("serial_from", s.serialFrom, Field::Given), v("serial_to", s.serialTo, Field::Given);
        v("firmware", s.firmware, Field::Given), v("lot", s.lot, Field::Given), v("vial_from", s.vialFrom, Field::Given),
            v("vial_to", s.vialTo, Field::Given), v("hits_nothing", s.hitsNothing, Field::Given);
    }
};

/// What was done about one meter, lot or vial that a notice hit.
struct NoticeItemDone {
    static constexpr std::string_view kind = "notice.item_done", file = "", word = "notice-item";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::Moment at;
    base::OperatorId by;
    std::string notice, item, action;
    Opt<std::string> proof {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("notice", s.notice, Field::Key), v("item", s.item, Field::Key);
        v("action", s.action, Field::Needed), v("proof", s.proof, Field::Given);
    }
};

struct NoticeClosed {
    static constexpr std::string_view kind = "notice.closed", file = "", word = "notice-close";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId by;
    std::string notice, proof;
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("notice", s.notice, Field::Key), v("proof", s.proof, Field::Needed);
    }
};

} // namespace mk::registry::acts
