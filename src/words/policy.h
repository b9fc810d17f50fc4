// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/new_material.h"
#include "registry/month/month_due.h"
#include "registry/policy/drift_cost.h"

#include <QString>
#include <QStringList>

/// What the policy's settings say to a person, beside verdicts and reasons.
namespace mk::words {

/// A line of a document on record that this program does not know.
QString unknownSetting(const std::string& key, const std::string& text);

/// until  the last day on which today's records must still be there
QString keptUntil(base::Date until);
QString monthKeptUntil(base::Date until);

/// A month that nobody signed; empty where nothing waits.
QString monthToSign(const registry::MonthSignature& month);

/// What judging by the usual value costs that ward, a line each.
QStringList driftCostSaid(const registry::CostWard& ward, const registry::DriftCost& cost);

QString vialDebt(const registry::VialDebt& debt);

/// A pair whose samples lie apart as far as the window allows, and farther than the policy wants.
QString beyondPairTarget(int minutesApart, int target);

} // namespace mk::words
