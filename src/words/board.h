// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/fitness.h"

#include <QString>
#include <QStringList>

/// The ward board in plain text.
namespace mk::words {

/// "May be used", "Do not use", "Withdrawn"
QString boardAnswer(const registry::Fitness& fitness);
/// Over its columns: meter, ward, may I use it?, until, why.
QStringList boardColumns();
/// "Board at Wed 18 Nov 2026, 06:52. 13 of 14 meters may be used."
QString boardSummary(base::Moment at, std::size_t usable, std::size_t meters, const registry::Zone& zone);
/// "Accepted Wed 18 Nov 2026, 06:52."
QString acceptedAt(base::Moment at, const registry::Zone& zone);

/// "M-07: May be used until Wed 18 Nov 2026, 06:52."
QString meterAnswer(const std::string& meter, const registry::Fitness& fitness, const registry::Zone& zone);
/// "dropped: It fell. Look it over, then run both levels."
QString reasonLine(const registry::Reason& reason);
/// "next: Run low and high, by Wed 18 Nov 2026, 06:52"
QString stepLine(const registry::NextStep& step, const registry::Zone& zone);

} // namespace mk::words
