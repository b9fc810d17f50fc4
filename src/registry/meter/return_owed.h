// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"
#include "registry/meter/meter_life.h"

/// What a stopped meter still owes before it is back in service, and who may do it: one list, asked by the screens and by the refusals.
namespace mk::registry {

/// inspected-in-words: looked at, with what was mended or found. software-version: the new version is not on record. other-strip-vial: the
/// error codes were never tried on another vial's strips. shift-checked: a comparison, group check or lot check after a shift rule.
enum class ReturnOwed {
    Inspected,
    InspectedInWords,
    ControlsPassed,
    ComparisonPassed,
    SoftwareVersion,
    OtherStripVial,
    ShiftChecked,
    LookbackDecided,
    Signed
};
template <>
struct Words<ReturnOwed> {
    static constexpr std::string_view what = "step owed for a return";
    static constexpr std::string_view all[] = { "inspected", "inspected-in-words", "controls-passed", "comparison-passed",
        "software-version", "other-strip-vial", "shift-checked", "look-back-decided", "signed" };
};

enum class ReturnBy { Anyone, CompetentNurseOrCoordinator, Coordinator };
template <>
struct Words<ReturnBy> {
    static constexpr std::string_view what = "who takes a step";
    static constexpr std::string_view all[] = { "anyone", "competent-nurse-or-coordinator", "coordinator" };
};

struct OwedForReturn {
    ReturnOwed what {};
    ReturnBy by = ReturnBy::Anyone;
    int sets = 0;         ///< controls-passed: accepted sets in a row
    std::string cause {}; ///< of the stop that asks for it, where only that one does
};

/// One step of a stopped meter's way back, and what met it.
/// metBy     empty where the evidence names nobody
/// setsMet   controls-passed: accepted sets in a row so far, at most as many as are asked
struct AskedForReturn {
    OwedForReturn step {};
    std::optional<base::Moment> metAt {};
    base::OperatorId metBy {};
    int setsMet = 0;
};

/// Every step that is asked for, met or not, in the order in which they are asked for; the signature last, where one is owed.
/// returns empty where the meter is neither on hold nor withdrawn
std::vector<AskedForReturn> askedForReturn(const ReturnEvidence& evidence, const Policy& policy);

/// Those of them that are not met.
std::vector<OwedForReturn> owedForReturn(const ReturnEvidence& evidence, const Policy& policy);

/// Does the newest comparison since it was stopped lie inside the limits? Asked of the step also where none is owed.
bool comparisonPassed(const ReturnEvidence& evidence, const ReturnDemands& demands);

/// What is on record about a meter's return at a moment; nothing in it is later.
struct ReturnFile {
    MeterState state = MeterState::Received;
    std::vector<StopRecord> openStops;
    std::vector<IncidentRecord> incidents;
    std::vector<ReturnRecord> steps;
    std::vector<SetRecord> newestSets;
    std::optional<PairRecord> newestPair;
    std::optional<base::Moment> firmwareNoted;
    std::optional<base::Moment> lotShown;
    std::optional<base::Seq> undecidedLookback;
    bool withdrawnForDrift = false;   ///< by hand, while it drifted
    bool withdrawalTakenOver = false; ///< from elsewhere, where its cause was dealt with

    /// Points into this value; for whoever takes the next step here, not yet a person's.
    ReturnEvidence evidence() const;
};
base::Result<ReturnFile> returnFileOf(Facts& facts, const base::MeterId& meter, base::Moment at);

} // namespace mk::registry
