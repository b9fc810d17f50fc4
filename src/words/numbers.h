// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/moment.h"

#include <QString>

#include <string_view>

/// Numbers, units, dates and times as the reader's language writes them: the one place that asks the locale.
namespace mk::words {

/// A date that a person reads.
QString dateSaid(base::Date date);
/// A moment as the wall clock showed it, to the minute.
QString momentSaid(base::Moment moment);
/// The same of the form that machines write; as it stands where it cannot be read.
QString dateSaid(std::string_view machine);
QString momentSaid(std::string_view machine);

} // namespace mk::words
