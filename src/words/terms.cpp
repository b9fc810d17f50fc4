// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/terms.h"

#include "words/numbers.h"
#include "words/states.h"

#include <QCoreApplication>

namespace mk::words {

namespace {

struct TermTexts {
    Q_DECLARE_TR_FUNCTIONS(Terms)
};

} // namespace

QString term(std::string_view key)
{
    return key.empty() ? QString() : QCoreApplication::translate("Term", std::string(key).c_str());
}

QString level(registry::Level level)
{
    switch (level) {
    case registry::Level::Low: return TermTexts::tr("low");
    case registry::Level::Normal: return TermTexts::tr("normal");
    case registry::Level::High: return TermTexts::tr("high");
    }
    return {};
}

QString levelControl(registry::Level level)
{
    switch (level) {
    case registry::Level::Low: return TermTexts::tr("Low control");
    case registry::Level::Normal: return TermTexts::tr("Normal control");
    case registry::Level::High: return TermTexts::tr("High control");
    }
    return {};
}

QString verdict(registry::Verdict verdict)
{
    switch (verdict) {
    case registry::Verdict::Rejected: return TermTexts::tr("Rejected");
    case registry::Verdict::Invalid: return TermTexts::tr("Invalid");
    case registry::Verdict::Partial: return TermTexts::tr("Not complete");
    case registry::Verdict::Warned: return TermTexts::tr("Warned");
    case registry::Verdict::Accepted: return TermTexts::tr("Accepted");
    }
    return {};
}

QString verdictInList(registry::Verdict verdict)
{
    switch (verdict) {
    case registry::Verdict::Rejected: return TermTexts::tr("rejected");
    case registry::Verdict::Invalid: return TermTexts::tr("invalid");
    case registry::Verdict::Partial: return TermTexts::tr("partial");
    case registry::Verdict::Warned: return TermTexts::tr("warned");
    case registry::Verdict::Accepted: return TermTexts::tr("accepted");
    }
    return {};
}

QString role(registry::Role role)
{
    switch (role) {
    case registry::Role::Nurse: return TermTexts::tr("nurse");
    case registry::Role::Coordinator: return TermTexts::tr("coordinator");
    case registry::Role::Inspector: return TermTexts::tr("inspector");
    }
    return {};
}

QString stage(registry::Stage stage)
{
    switch (stage) {
    case registry::Stage::Range: return TermTexts::tr("range");
    case registry::Stage::Interim: return TermTexts::tr("interim");
    case registry::Stage::Established: return TermTexts::tr("established");
    }
    return {};
}

QString lotState(registry::LotState state)
{
    using S = registry::LotState;
    switch (state) {
    case S::Received: return TermTexts::tr("received");
    case S::Verifying: return TermTexts::tr("verifying");
    case S::Released: return TermTexts::tr("released");
    case S::Quarantined: return TermTexts::tr("quarantined");
    case S::Exhausted: return TermTexts::tr("exhausted");
    case S::Expired: return TermTexts::tr("expired");
    case S::Rejected: return TermTexts::tr("rejected");
    }
    return {};
}

QString lotEvent(registry::LotEventKind kind)
{
    switch (kind) {
    case registry::LotEventKind::Released: return lotState(registry::LotState::Released);
    case registry::LotEventKind::Quarantined: return lotState(registry::LotState::Quarantined);
    case registry::LotEventKind::Rejected: return lotState(registry::LotState::Rejected);
    }
    return {};
}

QString releasedElsewhere(const std::string& document)
{
    return TermTexts::tr("It was verified elsewhere, not here: %1.").arg(text(document));
}

QString vialState(registry::VialState state)
{
    using S = registry::VialState;
    switch (state) {
    case S::Open: return TermTexts::tr("open");
    case S::FoundOpen: return TermTexts::tr("found-open");
    case S::Expired: return TermTexts::tr("expired");
    case S::Empty: return TermTexts::tr("empty");
    case S::Discarded: return TermTexts::tr("discarded");
    case S::Quarantined: return TermTexts::tr("quarantined");
    }
    return {};
}

QString incident(registry::IncidentKind kind)
{
    using Kind = registry::IncidentKind;
    switch (kind) {
    case Kind::Dropped: return TermTexts::tr("It fell or was knocked");
    case Kind::Wet: return TermTexts::tr("It got wet");
    case Kind::Damaged: return TermTexts::tr("It is damaged");
    case Kind::ErrorCode: return TermTexts::tr("It shows an error code");
    case Kind::ImplausibleResult: return TermTexts::tr("It showed a result that nothing explains");
    case Kind::BatteryChanged: return TermTexts::tr("Its battery was changed");
    case Kind::SoftwareUpdated: return TermTexts::tr("Its software was updated");
    case Kind::ClockWrong: return TermTexts::tr("Its clock is wrong");
    case Kind::WrongUnit: return TermTexts::tr("It shows the wrong unit");
    case Kind::Temperature: return TermTexts::tr("It lay too hot or too cold");
    case Kind::Soiled: return TermTexts::tr("It is soiled");
    case Kind::Cleaned: return TermTexts::tr("It was cleaned and disinfected");
    case Kind::NotInUse: return TermTexts::tr("It is not in use today");
    case Kind::Found: return TermTexts::tr("It was missing and is found");
    case Kind::FieldNotice: return TermTexts::tr("A safety notice of the maker names it");
    }
    return {};
}

QString levels(const std::vector<registry::Level>& levels)
{
    switch (levels.size()) {
    case 0: return {};
    case 1: return level(levels[0]);
    //: levels: low and high
    case 2: return TermTexts::tr("%1 and %2").arg(level(levels[0]), level(levels[1]));
    //: levels: low, normal and high
    default: return TermTexts::tr("%1, %2 and %3").arg(level(levels[0]), level(levels[1]), level(levels[2]));
    }
}

QString stateAnswer(registry::MeterState state)
{
    return QCoreApplication::translate("States", sentencesOf(state).answer);
}

} // namespace mk::words
