// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/lots/consumables.h"
#include "registry/terms/reason.h"

#include <QString>

#include <string_view>
#include <vector>

/// The trade's words as a person reads them.
namespace mk::words {

QString level(registry::Level level);                       ///< "low"
QString levelControl(registry::Level level);                ///< "Low control"
QString levels(const std::vector<registry::Level>& levels); ///< "low and high"
QString verdict(registry::Verdict verdict);                 ///< "Accepted"
QString verdictInList(registry::Verdict verdict);           ///< "accepted", within a line
QString role(registry::Role role);
QString stage(registry::Stage stage);          ///< "interim"
QString lotState(registry::LotState state);    ///< "released"
QString lotEvent(registry::LotEventKind kind); ///< "quarantined"
/// Whose evidence a release rests on.
QString releasedElsewhere(const std::string& document);
QString vialState(registry::VialState state);  ///< "open"
QString incident(registry::IncidentKind kind); ///< "It fell or was knocked"
/// A noun or a source that is its own key, in English (base::asTerm).
QString term(std::string_view key);
/// What the board says of a meter that may not be used: "Do not use", "Withdrawn", "At repair"
QString stateAnswer(registry::MeterState state);

} // namespace mk::words
