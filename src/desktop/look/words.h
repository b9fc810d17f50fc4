// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/values.h"
#include "registry/terms/zone.h"

#include <QString>

/// How times, numbers and trade words read on a screen.
namespace mk::desktop::words {

QString text(const std::string& plain);
/// A fault's line as a sentence: begins large, ends in a point.
QString sentence(const std::string& plain);
QString sentence(const base::Fault& fault);

QString time(base::Moment moment, const registry::Zone& zone);       ///< "05:20"
QString day(base::Date date);                                        ///< "Thu 12 Nov"
QString shortDay(base::Date date);                                   ///< "12 Nov"
QString longDay(base::Date date);                                    ///< "Thu 12 Nov 2026"
QString dayAndTime(base::Moment moment, const registry::Zone& zone); ///< "Thu 12 Nov, 05:20"
QString full(base::Moment moment, const registry::Zone& zone);       ///< "Thu 12 Nov 2026, 05:20"
/// As short as it is clear beside now: "05:20" today, "Thu 05:20" in the coming days, else "Thu 12 Nov".
QString beside(base::Moment moment, base::Moment now, const registry::Zone& zone);

QString level(registry::Level level);        ///< "low"
QString levelControl(registry::Level level); ///< "Low control"
QString unit(base::GlucoseUnit unit);
QString verdict(registry::Verdict verdict); ///< "Accepted"
QString role(registry::Role role);
QString incident(registry::IncidentKind kind); ///< "It fell"
QString reading(const registry::Reading& reading);
/// "+1.62", with a true minus sign
QString score(double z, int decimals);
QString entryNumber(base::Seq seq); ///< "18 408"
/// What stands against a vial, as one sentence; `code` is a reason code.
QString vialCause(const std::string& code);
/// Why a run may not count, as one sentence.
QString invalidCause(const std::string& code);

} // namespace mk::desktop::words
