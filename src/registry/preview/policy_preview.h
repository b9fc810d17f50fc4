// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/preview/candidate_line.h"

/// What a policy would have meant for the months behind: the same runs, pairs and events, judged by it in memory. Nothing is recorded.
namespace mk::registry {

struct PreviewPeriod {
    base::Date from, to;
    base::Moment now; ///< nothing later is asked about
};

/// What stands at noon of a day, under the candidate and as it stood.
/// withdrawn   withdrawn, or the findings advise it
/// stopped     causes of the holds and withdrawals that began on that day under the candidate, in their order
/// reasons     the codes that block, or that name the state, at noon under the candidate
struct PreviewDay {
    base::Date day;
    bool usable = false, withdrawn = false;
    bool stoodUsable = false, stoodWithdrawn = false;
    std::vector<std::string> stopped, reasons;
    bool differs() const { return usable != stoodUsable || withdrawn != stoodWithdrawn; }
};

struct PreviewOfMeter {
    base::MeterId meter;
    base::WardId ward;             ///< at the end of the period
    std::vector<PreviewDay> days;  ///< every day on which the meter was enrolled
    std::size_t otherVerdicts = 0; ///< sets of the period that the candidate judges otherwise
};

/// stood  what is known; would: the same, with what the line holds of the meter
base::Result<PreviewOfMeter> previewPolicy(
    Facts& stood, Facts& would, const CandidateLine& line, const MeterRecord& meter, const PreviewPeriod& period);

} // namespace mk::registry
