// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "registry/month/month.h"
#include "registry/month/patterns.h"
#include "registry/month/signed_month.h"
#include "report/scenes/chart_scene.h"
#include "words/month_events.h"

#include <string>
#include <vector>

namespace mk::report {

/// Everything that the monthly review says.
/// wardName   "Ward W5, Surgery"; what stands at the top of each page
/// charts     of the meters to watch, in the order in which they are to stand
/// entry, digest   the journal as it stood: its last entry and that entry's digest in hex
struct MonthReportInput {
    registry::MonthFigures figures;
    registry::Policy policy;
    registry::Zone zone = registry::Zone::utc();
    std::string wardName;
    std::vector<ControlChartScene> charts;
    base::Seq entry;
    std::string digest;
    std::string program; ///< "Meterkeep 0.1.0"
    std::string person;  ///< who produced it
    base::Moment printedAt;
    std::vector<registry::SignedReview> signatures {}; ///< oldest first
    std::vector<registry::Pattern> patterns {};
    std::vector<words::MonthSection> sections {}; ///< what happened in the month, every kind
};

/// Writes the review as PDF/A-1b on A4, black alone; the file is whole or not there at all.
/// needs    a QApplication
/// errors   Io
base::Done writeMonthReport(const MonthReportInput& input, const std::string& path);

} // namespace mk::report
