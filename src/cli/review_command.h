// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/ids.h"
#include "base/moment.h"
#include "base/result.h"
#include "registry/month/month_due.h"
#include "registry/month/operator_month.h"
#include "registry/month/patterns.h"
#include "registry/month/signed_month.h"
#include "store/read/read_month.h"
#include "store/db/session.h"

#include <optional>
#include <string>

namespace mk::cli {

struct ReviewOptions {
    std::string month;               ///< YYYY-MM
    std::optional<std::string> ward; ///< none: all wards
    std::optional<std::string> out;  ///< FILE.pdf
    std::optional<base::Moment> at;  ///< the cut-off; none: now
    std::optional<base::Seq> asOf;   ///< none: all that is known
    bool json = false;
    std::string person; ///< who asks for it; stands on the PDF
};

/// What stands beside the figures.
struct ReviewExtras {
    std::vector<registry::Pattern> patterns {};
    std::vector<registry::SignedReview> signatures {};
    std::vector<registry::OperatorMonth> operators {};
    std::optional<registry::MonthSignature> signature {}; ///< by when it is due, and whether it came
    std::optional<base::Date> keptUntil {};               ///< the last day on which the month's records must be there
    std::vector<store::ToldStop> stops {};                ///< what was held or withdrawn, and whose signature or control ended it
    registry::MonthEvents events {};                      ///< what happened beside the figures
};

/// The figures as the JSON document of the `review` command.
std::string reviewJson(
    const registry::MonthFigures& figures, const ReviewExtras& extras = {}, const registry::Zone& zone = registry::Zone::utc());
/// The same as a table for people; times of signatures in the zone.
std::string reviewText(const registry::MonthFigures& figures, const registry::Policy& policy, const ReviewExtras& extras = {},
    const registry::Zone& zone = registry::Zone::utc());

/// Reads the month, writes the PDF where one is asked for, and prints.
/// needs    a QApplication where `out` is given
/// returns  the exit status: done, or bad usage or input with one line on standard error
int runReview(store::Session& session, const ReviewOptions& options);

} // namespace mk::cli
