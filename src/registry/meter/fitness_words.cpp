// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/fitness_words.h"

#include <utility>

namespace mk::registry {

std::string levelsInWords(const std::vector<Level>& levels)
{
    std::string text;
    for (std::size_t i = 0; i < levels.size(); ++i)
        text += (i == 0 ? "" : i + 1 == levels.size() ? " and " : ", ") + std::string(word(levels[i]));
    return text;
}

std::string causeInWords(const std::string& code)
{
    static const std::pair<std::string_view, std::string_view> kTexts[] = {
        { "strip-expired", "The strip lot is past its printed expiry, or no expiry is on record. Open a vial of a lot in date." },
        { "strip-vial-expired", "The strip vial is past its open-vial date, or no opening is on record. Open a new strip vial." },
        { "strip-vial-not-open", "The strip vial was opened only later. Check the vial's number." },
        { "no-strip-vial", "No usable strip vial is open. Open a new strip vial." },
        { "control-expired", "The control lot is past its printed expiry, or no expiry is on record. Use a lot in date." },
        { "control-vial-expired", "The control vial is past its open-vial date, or no opening is on record. Open a new control vial." },
        { "control-vial-not-open", "The control vial was opened only later. Check the vial's number." },
        { "control-vial-ended", "The control vial had been ended before the run. Open a new control vial." },
        { "no-control-vial", "The control vial is not on record. Record its opening." },
        { "lot-not-released", "The strip lot is not released. Use a released lot, or ask the coordinator to release this one." },
        { "lot-quarantined", "The lot is quarantined or rejected. Use another lot." },
        { "range-missing",
            "No range is on record for this strip lot, control lot and level. Ask the coordinator to enter it from the label." },
        { "code-mismatch", "The strip code is missing or does not match the lot. Set the meter's code and repeat." },
        { "unit-mismatch", "The unit is not the meter's or not the range's. Check the unit on the display and tell the coordinator." },
        { "operator-not-competent", "The operator's competency does not cover that day. Somebody competent repeats the controls." },
        { "level-mismatch", "The control vial is of another level. Check the vial and repeat." },
        { "model-mismatch", "The strips belong to another model. Use this meter's strips." },
        { "not-in-service", "The meter was not in a state for testing." },
    };
    for (const auto& [known, text] : kTexts)
        if (known == code)
            return std::string(text);
    return code;
}

std::string incidentInWords(std::string_view code)
{
    static const std::pair<std::string_view, std::string_view> kTexts[] = {
        { "dropped", "It fell. Look it over, then run both levels." },
        { "wet", "It got wet. Keep it out of use; the coordinator decides." },
        { "damaged", "It is damaged. Keep it out of use; the coordinator decides." },
        { "implausible-result", "It showed a result that nothing explains. Run both levels and tell the coordinator." },
        { "battery-changed", "Its battery was changed. Check clock and unit, then run both levels." },
        { "software-changed", "Its software was updated. Run both levels before the next use." },
        { "clock-wrong", "Its clock was wrong. Set it, then run both levels." },
        { "wrong-unit", "It showed the wrong unit. Keep it out of use and tell the coordinator now." },
        { "temperature", "It lay outside its operating temperature. Let it settle as the insert says, then run both levels." },
        { "field-notice", "A field safety notice names it. Keep it out of use; the coordinator decides." },
        { "error-codes", "It shows error codes again and again. Change the strip vial, then run both levels." },
    };
    for (const auto& [known, text] : kTexts)
        if (known == code)
            return std::string(text);
    return std::string(code);
}

std::string stateInWords(MeterState state, const std::string& since, bool endsByItself)
{
    const std::string then = " since " + since + ". ";
    switch (state) {
    case MeterState::OnHold:
        return "On hold" + then
            + (endsByItself ? "An accepted control set ends the hold." : "It comes back by its return steps and a signature.");
    case MeterState::Withdrawn: return "Withdrawn" + then + "Only the coordinator brings it back.";
    case MeterState::AtRepair: return "At repair" + then + "It comes back by way of acceptance.";
    case MeterState::Reserve: return "In reserve" + then + "The coordinator issues it.";
    case MeterState::Missing:
        return "Missing" + then + "When it is found, report it; it is not used again before the coordinator clears it.";
    case MeterState::Retired: return "Retired" + then + "It is never used again.";
    case MeterState::Acceptance: return "In acceptance" + then + "The coordinator approves it for use.";
    default: return "Received" + then + "It must pass acceptance first.";
    }
}

} // namespace mk::registry
