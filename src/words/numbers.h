// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/values.h"
#include "registry/terms/zone.h"

#include <QString>

#include <string_view>
#include <vector>

/// Numbers, units, dates and times as the reader's language writes them: the one place that asks the locale.
namespace mk::words {

/// Of the form that machines write, as longDay and full say it; as it stands where it cannot be read.
QString dateSaid(std::string_view machine);
QString momentSaid(std::string_view machine);

QString text(std::string_view plain);
/// A fault's line as a sentence: begins large, ends in a point.
QString sentence(const std::string& plain);

QString time(base::Moment moment, const registry::Zone& zone);       ///< "05:20"
QString day(base::Date date);                                        ///< "Thu 12 Nov"
QString shortDay(base::Date date);                                   ///< "12 Nov"
QString dayOfMonth(base::Date date);                                 ///< "12 November"
QString monthAndYear(base::Date date);                               ///< "November 2026"
QString longDay(base::Date date);                                    ///< "Thu 12 Nov 2026"
QString dayAndTime(base::Moment moment, const registry::Zone& zone); ///< "Thu 12 Nov, 05:20"
QString full(base::Moment moment, const registry::Zone& zone);       ///< "Thu 12 Nov 2026, 05:20"
/// The same on the wall clock that the moment carries.
QString full(base::Moment onTheWall);
/// As short as it is clear beside now: "05:20" today, "Thu 05:20" in the coming days, else "Thu 12 Nov".
QString beside(base::Moment moment, base::Moment now, const registry::Zone& zone);

QString unit(base::GlucoseUnit unit);
QString reading(const registry::Reading& reading); ///< "46", "HI", "error E-4"
/// "+1.62", with a true minus sign
QString score(double z, int decimals);
/// "5.2"
QString withDecimals(double number, int decimals);
/// "+5.2", as tables for machines have it
QString withSign(double number, int decimals);
QString entryNumber(base::Seq seq); ///< "18 408"
/// With commas between them.
QString listed(const std::vector<std::string>& words);

} // namespace mk::words
