// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/fitness.h"

#include <QString>

/// Why a meter may not be used, a run does not count or a vial is not taken: whole sentences.
namespace mk::words {

/// "The low control read 78 mg/dL, above 74 (1-3s)."
QString whatHappened(const registry::Reason& reason);
/// "Do not use it; check the technique and repeat with a new strip."; empty where nothing is to be done
QString whatToDo(const registry::Reason& reason);
/// Both.
QString reasonSaid(const registry::Reason& reason);

/// One level of a rejected set.
QString failedSaid(const registry::FailedLevel& failed);
/// Is it the meter or the lot; empty where nothing is found.
QString lotEffectSaid(const registry::LotEffect& effect);

/// What stands against a vial or a run, to somebody who holds it now; an unknown code as it stands.
QString atTheSheet(registry::ReasonCode cause);
QString atTheSheet(std::string_view code);
/// Why a run does not count, short enough to stand in a chart: "no range"; empty where the word "invalid" must do.
QString onTheChart(registry::ReasonCode cause);

} // namespace mk::words
