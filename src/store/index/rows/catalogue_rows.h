// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "store/db/described_row.h"

/// Wards, models, meters and people as they were added.
namespace mk::store {

namespace acts = registry::acts;

struct WardRow {
    static constexpr std::string_view table = "ward", order = "ward, from_seq";
    acts::WardAdded act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("ward", s.act.ward), v("name", s.act.name);
        Version::describe(v, s.version);
    }
};

struct ModelRow {
    static constexpr std::string_view table = "model", order = "model, from_seq";
    acts::ModelAdded act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("model", s.act.model), v("unit", s.act.unit), v("low", s.act.low), v("high", s.act.high);
        v("haematocrit_low", s.act.haematocritLow), v("haematocrit_high", s.act.haematocritHigh);
        v("needs_code", s.act.needsCode), v("shared_use", s.act.sharedUse), v("market_approval", s.act.marketApproval);
        Version::describe(v, s.version);
    }
};

struct MeterRow {
    static constexpr std::string_view table = "meter", order = "meter, from_seq";
    acts::MeterEnrolled act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("meter", s.act.meter), v("model", s.act.model), v("serial", s.act.serial), v("ward", s.act.ward);
        v("enrolled", s.act.enrolled), v("state", s.act.state);
        Version::describe(v, s.version);
    }
};

struct OperatorRow {
    static constexpr std::string_view table = "operator", order = "operator, from_seq";
    acts::OperatorEnrolled act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("operator", s.act.id), v("name", s.act.name), v("role", s.act.role);
        v("competent_from", s.act.competentFrom), v("competent_until", s.act.competentUntil);
        Version::describe(v, s.version);
    }
};

} // namespace mk::store
