// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/study_series.h"

#include "cli/json_writer.h"
#include "cli/study_output.h"

#include <algorithm>
#include <cmath>

namespace mk::cli {

namespace {

base::Done checkDriftOptions(const StudyDriftOptions& options)
{
    if (!std::isfinite(options.target))
        return base::badInput("--target must be a number, in the units of the data");
    if (!(options.sd > 0) || !std::isfinite(options.sd))
        return base::badInput("--sd must be above 0; drift cannot be evaluated without an SD");
    if (!(options.lambda > 0 && options.lambda <= 1))
        return base::badInput("--lambda must be above 0 and at most 1, such as 0.2");
    if (!(options.width > 0) || !std::isfinite(options.width))
        return base::badInput("--width must be above 0, such as 3");
    if (!(options.k >= 0) || !std::isfinite(options.k))
        return base::badInput("--k must be 0 or more, such as 0.5");
    if (!(options.h > 0) || !std::isfinite(options.h))
        return base::badInput("--h must be above 0, such as 4");
    return {};
}

void writeInterval(JsonWriter& json, const std::optional<stats::Interval>& interval)
{
    if (!interval) {
        json.null();
        return;
    }
    json.beginArray().value(interval->lower).value(interval->upper).endArray();
}

std::string intervalText(const std::optional<stats::Interval>& interval)
{
    return interval ? shortNumber(interval->lower) + " to " + shortNumber(interval->upper) : "-";
}

std::string signalText(const StudyDriftReport& report, std::size_t number)
{
    const bool ewma = std::ranges::binary_search(report.ewma.signalled, number);
    const bool cusum = std::ranges::binary_search(report.cusum.signalled, number);
    return std::string(ewma ? "EWMA" : "") + (ewma && cusum ? " " : "") + (cusum ? "CUSUM" : "");
}

} // namespace

base::Result<StudyDriftReport> studyDrift(const StudyFile& file, const StudyDriftOptions& options)
{
    if (const auto checked = checkDriftOptions(options); !checked)
        return checked.error();
    auto values = file.numbers("value");
    if (!values)
        return values.error();
    StudyDriftReport report;
    report.values = std::move(values).value();
    report.ewma = stats::ewmaChart(report.values, options.target, options.sd, options.lambda, options.width, options.limits);
    report.cusum = stats::cusumChart(report.values, options.target, options.sd, options.k, options.h);
    report.ignoredColumns = file.ignored({ "value" });
    return report;
}

std::string studyDriftJson(const StudyDriftReport& report)
{
    JsonWriter json;
    json.beginObject().key("format").value(1);
    json.key("ewma").beginObject();
    json.key("lower").array(report.ewma.lower).key("upper").array(report.ewma.upper);
    json.key("values").array(report.ewma.values).key("signals").array(report.ewma.signalled).endObject();
    json.key("cusum").beginObject();
    json.key("high").array(report.cusum.high).key("low").array(report.cusum.low);
    json.key("signals").array(report.cusum.signalled).key("began").value(report.cusum.began).endObject();
    json.key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyDriftTable(const StudyDriftReport& report)
{
    std::vector<std::vector<std::string>> rows = { { "no", "value", "ewma", "lower", "upper", "cusum high", "cusum low", "signals" } };
    for (std::size_t i = 0; i < report.values.size(); ++i) {
        rows.push_back({ std::to_string(i + 1), shortNumber(report.values[i]), shortNumber(report.ewma.values[i]),
            shortNumber(report.ewma.lower[i]), shortNumber(report.ewma.upper[i]), shortNumber(report.cusum.high[i]),
            shortNumber(report.cusum.low[i]), signalText(report, i + 1) });
    }
    std::string text = alignedTable(rows) + "EWMA signals: " + std::to_string(report.ewma.signalled.size())
        + ". CUSUM signals: " + std::to_string(report.cusum.signalled.size()) + '.';
    if (report.cusum.began)
        text += " The first CUSUM signal is no " + std::to_string(report.cusum.signalled.front()) + "; its excursion began at no "
            + std::to_string(*report.cusum.began) + '.';
    return text + '\n' + ignoredLine(report.ignoredColumns);
}

base::Result<StudySummaryReport> studySummary(const StudyFile& file, double confidence)
{
    const auto values = file.numbers("value");
    if (!values)
        return values.error();
    if (values->empty())
        return base::badInput(file.name + " has no rows below its header; give at least one value");
    const auto summary = stats::summarize(*values, confidence);
    if (!summary)
        return summary.error();
    return StudySummaryReport { *summary, confidence, file.ignored({ "value" }) };
}

std::string studySummaryJson(const StudySummaryReport& report)
{
    const stats::Summary& summary = report.summary;
    JsonWriter json;
    json.beginObject().key("format").value(1).key("n").value(summary.n).key("mean").value(summary.mean).key("sd").value(summary.sd);
    json.key("cv_percent").value(summary.cvPercent).key("median").value(summary.median);
    json.key("min").value(summary.min).key("max").value(summary.max);
    writeInterval(json.key("mean_ci"), summary.meanCi);
    writeInterval(json.key("sd_ci"), summary.sdCi);
    json.key("confidence").value(report.confidence).key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studySummaryTable(const StudySummaryReport& report)
{
    const stats::Summary& summary = report.summary;
    const auto maybe = [](const std::optional<double>& number) { return number ? shortNumber(*number) : std::string("-"); };
    const std::string percent = shortNumber(report.confidence * 100) + " %";
    return alignedTable({ { "n", std::to_string(summary.n) }, { "mean", shortNumber(summary.mean) }, { "SD", maybe(summary.sd) },
               { "CV %", maybe(summary.cvPercent) }, { "median", shortNumber(summary.median) }, { "min", shortNumber(summary.min) },
               { "max", shortNumber(summary.max) }, { "mean, " + percent, intervalText(summary.meanCi) },
               { "SD, " + percent, intervalText(summary.sdCi) } })
        + ignoredLine(report.ignoredColumns);
}

} // namespace mk::cli
