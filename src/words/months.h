// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/month.h"

#include <QString>

/// The monthly review in words and figures as paper, tables and screens show them.
namespace mk::words {

/// "October 2026"
QString monthName(registry::Month month);
/// "Ward W5 met 403 of 421 controls in time, 95.7 %."
QString monthHeadline(const registry::MonthFigures& figures);
/// "Not cleared 32.1 h in service (4.5 %), the longest 24.6 h."; empty where the meters were not in service, or it was not counted.
QString notClearedInWords(const registry::NotCleared& notCleared);
/// "One meter to watch: M-07."
QString metersToWatchInWords(const registry::MonthFigures& figures, const registry::Policy& policy);

/// A mean with one decimal more than the unit is shown with, an SD with two more (handbook 10.4); a dash where there is none.
QString meanText(std::optional<double> mean, base::GlucoseUnit unit);
QString sdText(std::optional<double> sd, base::GlucoseUnit unit);
QString valueText(std::optional<double> value, base::GlucoseUnit unit);
/// With its sign, decimals as given; a dash where there is none.
QString signedText(std::optional<double> number, int decimals);
QString plainText(std::optional<double> number, int decimals);

/// "1-3s once, 1-2s twice, HI once; high SDI: watch"; empty for a meter of which there is nothing to say.
QString rulesInWords(const registry::MeterMonth& meter, const registry::Policy& policy);
/// "high SDI +1.6: watch", "low SDI −2.3: act"; empty below the policy's caution mark.
QString sdiInWords(const registry::LevelFigures& figures, const registry::Policy& policy);

/// One line of the list of rejected sets.
struct RejectedLine {
    QString when, meter, level, result, rule, ending;
};
RejectedLine rejectedInWords(const registry::RejectedSet& set, const base::MeterId& meter, const registry::Zone& zone);

/// Days of one month: "7, 9 to 11, 21"
QString daysInWords(const std::vector<base::Date>& days);
/// Hex in groups of four.
QString spacedDigest(const std::string& digest);

} // namespace mk::words
