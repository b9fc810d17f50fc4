// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/read_policy_preview.h"

#include "store/read/past_reader.h"

namespace mk::store {

using namespace registry;
using base::FaultKind;
using base::Result;

Result<std::vector<PreviewOfMeter>> previewOf(
    Reader& reader, const Policy& candidate, const PreviewPeriod& period, const std::optional<base::WardId>& ward)
{
    if (ward) {
        const auto known = reader.hasWard(*ward);
        if (!known)
            return known.error();
        if (!*known)
            return base::fault(FaultKind::NotFound, "no ward is called '%1'; see the wards of this registry on the board", ward->value);
    }
    const auto meters = reader.meters();
    auto once = Reader::open(reader.session(), reader.asOf()), again = Reader::open(reader.session(), reader.asOf());
    if (!meters || !once || !again)
        return !meters ? meters.error() : !once ? once.error() : again.error();
    PastReader stood(std::move(once).value()), would(std::move(again).value(), &candidate);
    std::vector<PreviewOfMeter> previews;
    for (const auto& record : *meters) {
        if (record.act.enrolled > period.now)
            continue;
        const auto at = reader.wardAt(record.act.meter, period.now);
        if (!at)
            return at.error();
        if (ward && *at != *ward)
            continue;
        for (PastReader* each : { &stood, &would })
            if (const base::Done held = each->hold(record.act.meter); !held)
                return held.error();
        auto preview = previewPolicy(stood, would, would.line(), record, period);
        if (!preview)
            return preview.error();
        previews.push_back(std::move(preview).value());
    }
    return previews;
}

} // namespace mk::store
