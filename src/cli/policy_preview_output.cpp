// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/policy_preview_output.h"

#include "cli/output.h"

#include <algorithm>

namespace mk::cli {

using namespace registry;

namespace {

bool worthSaying(const PreviewDay& day)
{
    return !day.usable || day.withdrawn || !day.stopped.empty() || day.differs();
}

std::string dayInWords(const PreviewDay& day)
{
    std::string text = day.withdrawn ? "withdrawn" : day.usable ? "may be used" : "not to be used";
    if (!day.reasons.empty())
        text += " (" + joined(day.reasons, ", ") + ")";
    if (day.usable && !day.stopped.empty())
        text += ", stopped for a while (" + joined(day.stopped, ", ") + ")";
    if (day.differs())
        text += std::string("; as it stood: ") + (day.stoodWithdrawn ? "withdrawn" : day.stoodUsable ? "could be used" : "not to be used");
    return text;
}

} // namespace

std::string previewAsJson(const std::vector<PreviewOfMeter>& previews, const PreviewPeriod& period, const std::string& profile)
{
    JsonWriter json;
    json.beginObject()
        .key("format")
        .value(1)
        .key("profile")
        .value(profile)
        .key("from")
        .value(base::toText(period.from))
        .key("to")
        .value(base::toText(period.to));
    json.key("meters").beginArray();
    for (const auto& meter : previews) {
        const auto count = [&](auto&& which) { return std::ranges::count_if(meter.days, which); };
        json.beginObject().key("meter").value(meter.meter.value).key("ward").value(meter.ward.value);
        json.key("days_not_usable").value(count([](const PreviewDay& d) { return !d.usable; }));
        json.key("days_withdrawn").value(count([](const PreviewDay& d) { return d.withdrawn; }));
        json.key("stood_not_usable").value(count([](const PreviewDay& d) { return !d.stoodUsable; }));
        json.key("stood_withdrawn").value(count([](const PreviewDay& d) { return d.stoodWithdrawn; }));
        json.key("other_verdicts").value(meter.otherVerdicts).key("days").beginArray();
        for (const auto& day : meter.days) {
            if (!worthSaying(day))
                continue;
            json.beginObject()
                .key("day")
                .value(base::toText(day.day))
                .key("usable")
                .value(day.usable)
                .key("withdrawn")
                .value(day.withdrawn);
            json.key("reasons").array(day.reasons).key("stopped").array(day.stopped);
            json.key("stood_usable")
                .value(day.stoodUsable)
                .key("stood_withdrawn")
                .value(day.stoodWithdrawn)
                .key("differs")
                .value(day.differs())
                .endObject();
        }
        json.endArray().endObject();
    }
    json.endArray().endObject();
    return json.text() + "\n";
}

std::string previewInWords(const std::vector<PreviewOfMeter>& previews, const PreviewPeriod& period, const std::string& profile)
{
    std::size_t days = 0, meters = 0;
    std::vector<std::vector<std::string>> table { { "meter", "ward", "from", "to", "under this document" } };
    for (const auto& meter : previews) {
        const std::size_t before = table.size();
        for (auto day = meter.days.begin(); day != meter.days.end();) {
            const std::string text = dayInWords(*day);
            auto last = day;
            while (std::next(last) != meter.days.end() && worthSaying(*std::next(last)) && dayInWords(*std::next(last)) == text)
                ++last;
            if (worthSaying(*day))
                table.push_back({ meter.meter.value, meter.ward.value, base::toText(day->day), base::toText(last->day), text });
            day = std::next(last);
        }
        meters += table.size() > before ? 1U : 0U;
        days += static_cast<std::size_t>(std::ranges::count_if(meter.days, &PreviewDay::differs));
    }
    std::string text = "Under '" + profile + "', " + base::toText(period.from) + " to " + base::toText(period.to)
        + ", as it stands at noon of each day: "
        + (days == 0 ? std::string("nothing would have been otherwise.\n") : std::to_string(days) + " days would have been otherwise.\n");
    if (meters > 0)
        text += alignedTable(table);
    return text + "Nothing is recorded by a preview.\n";
}

} // namespace mk::cli
