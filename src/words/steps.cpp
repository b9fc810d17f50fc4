// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/steps.h"

#include "words/numbers.h"
#include "words/terms.h"

#include <QCoreApplication>

#include <iterator>

namespace mk::words {

using namespace registry;

namespace {

struct StepTexts {
    Q_DECLARE_TR_FUNCTIONS(Steps)
};

/// sentence  %1 the levels or the subject; null where what it needs has sentences of its own
struct StepRow {
    StepKind kind;
    StepNeeds needs;
    const char* sentence;
};
constexpr StepRow kSteps[] = {
    { StepKind::AskWhetherShared, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Ask the coordinator whether this model may be shared") },
    { StepKind::CompareAgain, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Compare again with a new sample") },
    { StepKind::OpenStripVial, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Open a new strip vial") },
    { StepKind::Clean, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Clean and disinfect it") },
    { StepKind::LookItOver, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Look it over") },
    { StepKind::RunLevels, StepNeeds::Levels, QT_TRANSLATE_NOOP("Steps", "Run %1") },
    { StepKind::RunOnOtherMaterials, StepNeeds::Levels, QT_TRANSLATE_NOOP("Steps", "Run %1 with other materials") },
    { StepKind::RunInReserve, StepNeeds::Levels, QT_TRANSLATE_NOOP("Steps", "Run %1: the control of a meter in reserve is due") },
    { StepKind::RunOnNewMaterial, StepNeeds::Material, nullptr },
    { StepKind::LookInInsert, StepNeeds::Material, nullptr },
    { StepKind::ClimbLadder, StepNeeds::Ladder, nullptr },
    { StepKind::ConfirmArrival, StepNeeds::Subject, QT_TRANSLATE_NOOP("Steps", "Ward %1: confirm that it arrived") },
    { StepKind::Compare, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Compare with the laboratory") },
    { StepKind::CompareInsteadOfSample, StepNeeds::Subject,
        QT_TRANSLATE_NOOP("Steps", "Compare with the laboratory, in place of the proficiency sample %1") },
    { StepKind::VerifyCalibration, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Verify the calibration at low, mid and high") },
    { StepKind::MendCalibration, StepNeeds::Nothing,
        QT_TRANSLATE_NOOP("Steps", "Coordinator: find the cause, then verify the calibration again") },
    { StepKind::ReturnSample, StepNeeds::Subject, QT_TRANSLATE_NOOP("Steps", "Run and return the proficiency sample %1") },
    { StepKind::LookAtStripLot, StepNeeds::Nothing,
        QT_TRANSLATE_NOOP("Steps", "Coordinator: look at the strip lot first; do other meters deviate from the laboratory the same way?") },
    { StepKind::LookAtLotAndVials, StepNeeds::Nothing,
        QT_TRANSLATE_NOOP("Steps", "Coordinator: look at the strip lot and the control vials first") },
    { StepKind::FindDriftCause, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Coordinator: find out why it drifts") },
    { StepKind::WithdrawAndTell, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Withdraw it and tell the coordinator") },
    { StepKind::DecideLookback, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Coordinator: decide the look-back") },
    { StepKind::RecordReturn, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Record the return steps and sign") },
    { StepKind::DecideWithdrawn, StepNeeds::Nothing, QT_TRANSLATE_NOOP("Steps", "Coordinator: decide what follows") },
};

constexpr bool inOrderOfSteps()
{
    std::size_t at = 0;
    for (const auto& row : kSteps)
        if (static_cast<std::size_t>(row.kind) != at++)
            return false;
    return at == kStepKinds;
}
static_assert(inOrderOfSteps());

const StepRow& rowOf(StepKind kind)
{
    return kSteps[static_cast<std::size_t>(kind)];
}

/// A step of the ladder, and the same after a shift.
struct LadderWords {
    const char* plain;
    const char* afterShift;
};
constexpr LadderWords kLadder[] = {
    { QT_TRANSLATE_NOOP("Steps", "Check the technique, then repeat with a new strip"),
        QT_TRANSLATE_NOOP("Steps",
            "Check the technique, then repeat with a new strip; one good value does not clear a shift, the coordinator finds its cause") },
    { QT_TRANSLATE_NOOP("Steps", "Repeat once with a new strip from the same vials"),
        QT_TRANSLATE_NOOP("Steps",
            "Repeat once with a new strip from the same vials; one good value does not clear a shift, the coordinator finds its cause") },
    { QT_TRANSLATE_NOOP("Steps", "Open a new control vial and run the level again"),
        QT_TRANSLATE_NOOP("Steps",
            "Open a new control vial and run the level again; one good value does not clear a shift, the coordinator finds its cause") },
    { QT_TRANSLATE_NOOP("Steps", "Open a new strip vial and run the level again"),
        QT_TRANSLATE_NOOP("Steps",
            "Open a new strip vial and run the level again; one good value does not clear a shift, the coordinator finds its cause") },
    { QT_TRANSLATE_NOOP("Steps", "Withdraw the meter and tell the coordinator"),
        QT_TRANSLATE_NOOP("Steps", "Withdraw the meter and tell the coordinator") },
};

/// What comes into use: a lot with the vial of it that is open, or a vial.
QString materialSaid(const NextStep& step)
{
    const QString vial = text(step.material->vial), lot = text(step.material->lot);
    if (step.what == StepKind::LookInInsert)
        return lot.isEmpty()
            ? StepTexts::tr("Look in the maker's insert whether strip vial %1 asks for a control before its first use").arg(vial)
            : StepTexts::tr("Look in the maker's insert whether strip lot %1 (vial %2) asks for a control before its first use")
                  .arg(lot, vial);
    return lot.isEmpty()
        ? StepTexts::tr("Run %1 on strip vial %2 before its strips are used on it").arg(levels(step.levels), vial)
        : StepTexts::tr("Run %1 on strip lot %2 (vial %3) before its strips are used on it").arg(levels(step.levels), lot, vial);
}

} // namespace

StepNeeds needsOf(StepKind kind)
{
    return rowOf(kind).needs;
}

QString stepSaid(const NextStep& step)
{
    const StepRow& row = rowOf(step.what);
    switch (row.needs) {
    case StepNeeds::Nothing: break;
    case StepNeeds::Levels: return StepTexts::tr(row.sentence).arg(levels(step.levels));
    case StepNeeds::Subject: return StepTexts::tr(row.sentence).arg(text(step.subject));
    case StepNeeds::Material: return step.material ? materialSaid(step) : QString();
    case StepNeeds::Ladder: return ladderStepSaid(step.ladder);
    }
    return StepTexts::tr(row.sentence);
}

QString ladderStepSaid(const LadderStanding& ladder)
{
    if (ladder.step < 1 || static_cast<std::size_t>(ladder.step) > std::size(kLadder))
        return {};
    const LadderWords& words = kLadder[ladder.step - 1];
    return StepTexts::tr(ladder.shift ? words.afterShift : words.plain);
}

QString techniqueSaid(TechniquePoint point)
{
    static constexpr const char* kPoints[] = {
        QT_TRANSLATE_NOOP("Steps", "The control is of the level that was chosen"),
        QT_TRANSLATE_NOOP("Steps", "The control was mixed as its insert says"),
        QT_TRANSLATE_NOOP("Steps", "The first drop and the tip of the bottle were wiped off"),
        QT_TRANSLATE_NOOP("Steps", "Strip lot, expiry and code are right"),
        QT_TRANSLATE_NOOP("Steps", "The strip was pushed in fully"),
        QT_TRANSLATE_NOOP("Steps", "Meter, strips and control were at room temperature"),
        QT_TRANSLATE_NOOP("Steps", "Strip vial and control were closed again at once"),
        QT_TRANSLATE_NOOP("Steps", "The meter was in control mode, not in patient mode"),
        QT_TRANSLATE_NOOP("Steps", "The strip was used at once, with dry fingers"),
        QT_TRANSLATE_NOOP("Steps", "One application filled the strip; nothing was added"),
        QT_TRANSLATE_NOOP("Steps", "The result was read with its unit and written at once"),
        QT_TRANSLATE_NOOP("Steps", "Patient: identified, purpose explained"),
        QT_TRANSLATE_NOOP("Steps", "Patient: hands washed with soap and water and dried"),
        QT_TRANSLATE_NOOP("Steps", "Patient: no cream, food or sugar on the finger; alcohol dried"),
        QT_TRANSLATE_NOOP("Steps", "Patient: hand warm, arm down, not swollen or cold"),
        QT_TRANSLATE_NOOP("Steps", "Patient: side of the middle or ring finger"),
        QT_TRANSLATE_NOOP("Steps", "Patient: single-use lancet, sharps box at hand"),
        QT_TRANSLATE_NOOP("Steps", "Patient: no squeezing"),
        QT_TRANSLATE_NOOP("Steps", "Patient: first or second drop as the insert and the policy say"),
        QT_TRANSLATE_NOOP("Steps", "Gloves changed between patients, hands disinfected"),
        QT_TRANSLATE_NOOP("Steps", "Meter cleaned and disinfected after use, with its contact time"),
    };
    static_assert(std::size(kPoints) == std::size(Words<TechniquePoint>::all));
    return StepTexts::tr(kPoints[static_cast<std::size_t>(point)]);
}

} // namespace mk::words
