// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "store/db/described_row.h"

/// Lots and vials, what became of them, and the ranges that hold on them.
namespace mk::store {

namespace acts = registry::acts;

struct StripLotRow {
    static constexpr std::string_view table = "strip_lot", order = "lot, from_seq";
    acts::StripLotReceived act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("lot", s.act.lot), v("model", s.act.model), v("gtin", s.act.gtin), v("code", s.act.code), v("expiry", s.act.expiry);
        v("open_period", s.act.openPeriod), v("received", s.act.received), v("released", s.act.released);
        Version::describe(v, s.version);
    }
};

struct StripVialRow {
    static constexpr std::string_view table = "strip_vial", order = "vial, from_seq";
    acts::StripVialOpened act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("vial", s.act.vial), v("lot", s.act.lot), v("opened", s.act.opened), v("ward", s.act.ward), v("found_open", s.act.foundOpen);
        Version::describe(v, s.version);
    }
};

struct ControlLotRow {
    static constexpr std::string_view table = "control_lot", order = "lot, from_seq";
    acts::ControlLotReceived act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("lot", s.act.lot), v("level", s.act.level), v("expiry", s.act.expiry), v("open_period", s.act.openPeriod);
        v("received", s.act.received);
        Version::describe(v, s.version);
    }
};

struct ControlVialRow {
    static constexpr std::string_view table = "control_vial", order = "vial, from_seq";
    acts::ControlVialOpened act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("vial", s.act.vial), v("lot", s.act.lot), v("opened", s.act.opened), v("ward", s.act.ward), v("found_open", s.act.foundOpen);
        Version::describe(v, s.version);
    }
};

/// The reason of a range stays in the journal.
struct AssignedRangeRow {
    static constexpr std::string_view table = "assigned_range", order = "strip_lot, control_lot, level, from_seq";
    acts::RangeAssigned act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("strip_lot", s.act.stripLot), v("control_lot", s.act.controlLot), v("level", s.act.level), v("unit", s.act.unit);
        v("low", s.act.low), v("high", s.act.high), v("mean", s.act.mean), v("sd", s.act.sd), v("stage", s.act.stage);
        v("from_at", s.act.from), v("meter", s.act.meter);
        Version::describe(v, s.version);
    }
};

struct VialEndRow {
    static constexpr std::string_view table = "vial_end", order = "vial, from_seq";
    acts::VialEnded act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("at", s.act.at), v("vial", s.act.vial), v("operator", s.act.by), v("how", s.act.how);
        Version::describe(v, s.version);
    }
};

struct LotEventRow {
    static constexpr std::string_view table = "lot_event", order = "lot, from_seq";
    acts::LotEvent act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("at", s.act.at), v("lot", s.act.lot), v("operator", s.act.by), v("kind", s.act.what), v("detail", s.act.detail);
        v("no_samples", s.act.noSamples);
        Version::describe(v, s.version);
    }
};

} // namespace mk::store
