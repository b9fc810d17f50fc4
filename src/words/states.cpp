// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/states.h"

#include <QtGlobal>

#include <cstddef>

namespace mk::words {

using registry::MeterState;

namespace {

constexpr StateSentences kStates[] = {
    { MeterState::Received, QT_TRANSLATE_NOOP("States", "Not yet approved"), QT_TRANSLATE_NOOP("States", "Received"),
        QT_TRANSLATE_NOOP("States", "Received since %1."), QT_TRANSLATE_NOOP("States", "It must pass acceptance first."), nullptr },
    { MeterState::Acceptance, QT_TRANSLATE_NOOP("States", "Not yet approved"), QT_TRANSLATE_NOOP("States", "Acceptance"),
        QT_TRANSLATE_NOOP("States", "In acceptance since %1."), QT_TRANSLATE_NOOP("States", "The coordinator approves it for use."),
        nullptr },
    { MeterState::InService, QT_TRANSLATE_NOOP("States", "Do not use"), QT_TRANSLATE_NOOP("States", "Do not use"),
        QT_TRANSLATE_NOOP("States", "Received since %1."), QT_TRANSLATE_NOOP("States", "It must pass acceptance first."), nullptr },
    { MeterState::OnHold, QT_TRANSLATE_NOOP("States", "Do not use"), QT_TRANSLATE_NOOP("States", "Do not use"),
        QT_TRANSLATE_NOOP("States", "On hold since %1."), QT_TRANSLATE_NOOP("States", "It comes back by its return steps and a signature."),
        nullptr },
    { MeterState::Withdrawn, QT_TRANSLATE_NOOP("States", "Withdrawn"), QT_TRANSLATE_NOOP("States", "Withdrawn"),
        QT_TRANSLATE_NOOP("States", "Withdrawn since %1."), QT_TRANSLATE_NOOP("States", "Only the coordinator brings it back."),
        QT_TRANSLATE_NOOP("States", "withdrawn") },
    { MeterState::AtRepair, QT_TRANSLATE_NOOP("States", "At repair"), QT_TRANSLATE_NOOP("States", "At repair"),
        QT_TRANSLATE_NOOP("States", "At repair since %1."), QT_TRANSLATE_NOOP("States", "It comes back by way of acceptance."),
        QT_TRANSLATE_NOOP("States", "at repair") },
    { MeterState::Reserve, QT_TRANSLATE_NOOP("States", "In reserve"), QT_TRANSLATE_NOOP("States", "Reserve"),
        QT_TRANSLATE_NOOP("States", "In reserve since %1."), QT_TRANSLATE_NOOP("States", "The coordinator issues it."),
        QT_TRANSLATE_NOOP("States", "reserve") },
    { MeterState::Missing, QT_TRANSLATE_NOOP("States", "Missing"), QT_TRANSLATE_NOOP("States", "Missing"),
        QT_TRANSLATE_NOOP("States", "Missing since %1."),
        QT_TRANSLATE_NOOP("States", "When it is found, report it; it is not used again before the coordinator clears it."),
        QT_TRANSLATE_NOOP("States", "missing") },
    { MeterState::Retired, QT_TRANSLATE_NOOP("States", "Retired"), QT_TRANSLATE_NOOP("States", "Retired"),
        QT_TRANSLATE_NOOP("States", "Retired since %1."), QT_TRANSLATE_NOOP("States", "It is never used again."),
        QT_TRANSLATE_NOOP("States", "retired") },
};

constexpr bool inOrderOfStates()
{
    std::size_t at = 0;
    for (const auto& row : kStates)
        if (static_cast<std::size_t>(row.state) != at++)
            return false;
    return at == std::size(registry::Words<MeterState>::all);
}
static_assert(inOrderOfStates());

} // namespace

const StateSentences& sentencesOf(MeterState state)
{
    return kStates[static_cast<std::size_t>(state)];
}

} // namespace mk::words
