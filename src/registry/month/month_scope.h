// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/month_events.h"

#include <algorithm>

/// What the two halves of a month's events share: which meters, wards and times belong to it.
namespace mk::registry {

class MonthScope {
public:
    explicit MonthScope(const MonthEventsInput& input);

    const MonthStretch& stretch() const { return m_stretch; }
    const Zone& zone() const { return m_in.facts.zone(); }
    Facts& facts() const { return m_in.facts; }
    const MonthEventsInput& input() const { return m_in; }
    /// The meters that the figures show, by id.
    const std::vector<const MonthMeterInput*>& shown() const { return m_shown; }
    bool shows(const base::MeterId& meter) const;
    /// Does something of that meter at that time belong to the ward that is looked at?
    bool onWard(const base::MeterId& meter, base::Moment at) const;
    /// Is that ward looked at?
    bool isWard(const base::WardId& ward) const { return !m_in.figures.ward || *m_in.figures.ward == ward; }
    /// Sets of the month, of one meter.
    std::vector<const SetRecord*> setsOf(const MonthMeterInput& meter) const;
    /// A reason of the meter at the end of the month; null where it does not stand.
    const Reason* reason(const base::MeterId& meter, ReasonCode code) const;

private:
    const MonthEventsInput& m_in;
    MonthStretch m_stretch;
    std::vector<const MonthMeterInput*> m_shown;
};

// Of meters (month_events.cpp) and of everything else (month_events_ward.cpp).
base::Result<std::vector<MonthComparison>> monthComparisons(const MonthScope& scope);
base::Result<std::vector<MonthLookback>> monthLookbacks(const MonthScope& scope);
std::vector<MonthCleaning> monthCleaning(const MonthScope& scope);
base::Result<std::vector<MonthProficiency>> monthProficiency(const MonthScope& scope);
base::Result<std::vector<MonthNonconformity>> monthNonconformities(const MonthScope& scope);
base::Result<std::vector<MonthNotice>> monthNotices(const MonthScope& scope);
base::Result<std::vector<Record<acts::LotEvent>>> monthLots(const MonthScope& scope);
base::Result<std::vector<MonthVial>> monthVials(const MonthScope& scope);
base::Result<std::vector<MonthCompetency>> monthCompetency(const MonthScope& scope);
base::Result<std::vector<MonthAnnulled>> monthAnnulled(const MonthScope& scope);
base::Result<std::vector<MonthCorrected>> monthCorrected(const MonthScope& scope);

} // namespace mk::registry
