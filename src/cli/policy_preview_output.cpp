// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/policy_preview_output.h"

#include "cli/output.h"
#include "words/numbers.h"

#include <QCoreApplication>

#include <algorithm>

namespace mk::cli {

using namespace registry;

namespace {

bool worthSaying(const PreviewDay& day)
{
    return !day.usable || day.withdrawn || !day.stopped.empty() || day.differs();
}

struct PreviewTexts {
    Q_DECLARE_TR_FUNCTIONS(PolicyPreview)
};

/// What the meter would have been; %1 the codes of the reasons.
QString underDocument(const PreviewDay& day)
{
    const QString why = words::listed(day.reasons);
    if (why.isEmpty())
        return day.withdrawn ? PreviewTexts::tr("withdrawn")
            : day.usable     ? PreviewTexts::tr("may be used")
                             : PreviewTexts::tr("not to be used");
    return (day.withdrawn ? PreviewTexts::tr("withdrawn (%1)")
            : day.usable  ? PreviewTexts::tr("may be used (%1)")
                          : PreviewTexts::tr("not to be used (%1)"))
        .arg(why);
}

QString daySaid(const PreviewDay& day)
{
    QString said = underDocument(day);
    if (day.usable && !day.stopped.empty())
        said = PreviewTexts::tr("%1, stopped for a while (%2)").arg(said, words::listed(day.stopped));
    if (!day.differs())
        return said;
    return (day.stoodWithdrawn ? PreviewTexts::tr("%1; as it stood: withdrawn")
            : day.stoodUsable  ? PreviewTexts::tr("%1; as it stood: could be used")
                               : PreviewTexts::tr("%1; as it stood: not to be used"))
        .arg(said);
}

QString previewHead(const PreviewPeriod& period, const std::string& profile, std::size_t days)
{
    const QString name = words::text(profile), from = words::longDay(period.from), to = words::longDay(period.to);
    return days == 0
        ? PreviewTexts::tr("Under '%1', %2 to %3, as it stands at noon of each day: nothing would have been otherwise.").arg(name, from, to)
        : PreviewTexts::tr("Under '%1', %2 to %3, as it stands at noon of each day: %4 days would have been otherwise.")
              .arg(name, from, to, QString::number(days));
}

} // namespace

std::string previewAsJson(const std::vector<PreviewOfMeter>& previews, const PreviewPeriod& period, const std::string& profile,
    const std::function<void(JsonWriter&)>& more)
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
    more(json);
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
    std::vector<std::vector<std::string>> table { {} };
    for (const QString& column : { PreviewTexts::tr("meter"), PreviewTexts::tr("ward"), PreviewTexts::tr("from"), PreviewTexts::tr("to"),
             PreviewTexts::tr("under this document") })
        table.front().push_back(column.toStdString());
    for (const auto& meter : previews) {
        const std::size_t before = table.size();
        for (auto day = meter.days.begin(); day != meter.days.end();) {
            const QString said = daySaid(*day);
            auto last = day;
            while (std::next(last) != meter.days.end() && worthSaying(*std::next(last)) && daySaid(*std::next(last)) == said)
                ++last;
            if (worthSaying(*day))
                table.push_back(
                    { meter.meter.value, meter.ward.value, base::toText(day->day), base::toText(last->day), said.toStdString() });
            day = std::next(last);
        }
        meters += table.size() > before ? 1U : 0U;
        days += static_cast<std::size_t>(std::ranges::count_if(meter.days, &PreviewDay::differs));
    }
    return previewHead(period, profile, days).toStdString() + "\n" + (meters > 0 ? alignedTable(table) : std::string())
        + PreviewTexts::tr("Nothing is recorded by a preview.").toStdString() + "\n";
}

} // namespace mk::cli
