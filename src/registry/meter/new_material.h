// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"

#include <span>

/// What a strip lot, a strip vial or a control vial that comes into use asks for, by the policy's `new_strip_lot`, `new_strip_vial` and
/// `new_control_vial` (handbook 4.1, D2 to D4).
///
/// Strip lot, `control`: a meter controls a lot that is new on it before patient use. While a vial of a lot it was controlled on is open,
/// that is said; when only the new lot is left, the meter is not to be used. `insert`: it is said, and nothing more.
/// Strip vial, `first-meter`: the vial owes a control by the meter that uses it first, and makes no other meter due. `every-meter`: each
/// meter owes one on the vial before it uses it, as with a lot. `insert`: the vial owes nothing; the maker's insert says whether.
/// Control vial, `beside`: a vial that comes after another of its level owes a run beside it: both on one meter within the time of a set.
namespace mk::registry {

/// What a meter owes before it takes strips from what stands open.
struct FirstUse {
    enum class Of { StripLot, StripVial };
    Of of = Of::StripLot;
    const OpenStripVial* vial = nullptr;
    bool byInsert = false; ///< the maker's insert says whether
    bool blocks = false;   ///< nothing else is open for the meter: its next use is the first one
};
/// The first uses that wait for a control of the meter; empty where the newest vial it was controlled with is enough.
std::vector<FirstUse> firstUses(const MeterHistory& history, const Policy& policy, base::Moment at);

/// Marks what an accepted set of the meter has controlled.
void markControlled(std::vector<OpenStripVial>& vials, std::span<const SetRecord> sets, base::Moment at);
/// Whether the meter's history needs what is open, by what is known of it so far.
bool asksForOpenVials(const MeterHistory& history, const Policy& policy, base::Moment at);
/// Fills in anew what stands open for the meter, where the policy asks for it.
base::Done addOpenMaterial(Facts& facts, MeterHistory& history, const Policy& policy, base::Moment at);

/// What a vial owes before its first use, whichever meter that is.
struct VialDebt {
    enum class What { StripControl, AskInsert, ControlBeside };
    What what = What::StripControl;
    std::string vial, lot;
    std::optional<base::WardId> ward;
    std::optional<Level> level;             ///< of a control vial
    std::vector<base::ControlVialId> older; ///< beside which it may be run
    base::Seq evidence;
};
template <>
struct Words<VialDebt::What> {
    static constexpr std::string_view what = "debt of a vial";
    static constexpr std::string_view all[] = { "strip-vial-uncontrolled", "strip-vial-insert", "control-vial-not-beside" };
};
/// Of the vials that are open on that ward and may be used.
base::Result<std::vector<VialDebt>> vialDebts(Facts& facts, const base::WardId& ward, base::Moment at);

/// Whether a use of that vial and one of another lie beside each other by then: one meter, within the time of a set.
/// uses  of vials of one level
bool ranBeside(std::span<const ControlVialUse> uses, const base::ControlVialId& vial, base::Moment at, const Policy& policy);

} // namespace mk::registry
