// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/compare.h"

#include "study/table/figures.h"
#include "study/terminal/printing.h"

#include <algorithm>
#include <cmath>
#include <functional>

namespace mk::study {

namespace {

using CompareTable = std::vector<std::vector<std::string>>;
using MaybeInterval = std::optional<stats::Interval>;

/// From how many pairs on a regression is shown to people, and from how many on it is more than indicative: handbook 5.5.
constexpr std::size_t kFewestForLine = 20;
constexpr std::size_t kFewestForSureLine = 40;
/// Up to so many pairs are listed one by one.
constexpr std::size_t kMostListedPairs = 50;

// JSON

/// Slope and intercept with their intervals, into the open object.
void writeCompareLine(
    JsonWriter& json, const std::optional<stats::StraightLine>& line, const MaybeInterval& slopeCi, const MaybeInterval& interceptCi)
{
    json.key("slope").value(line ? std::optional(line->slope) : std::nullopt);
    json.key("intercept").value(line ? std::optional(line->intercept) : std::nullopt);
    writeBounds(json.key("slope_ci"), slopeCi);
    writeBounds(json.key("intercept_ci"), interceptCi);
}

void writeCompareErrors(JsonWriter& json, const std::optional<stats::LineUncertainty>& uncertainty)
{
    json.key("slope_se").value(uncertainty ? std::optional(uncertainty->slopeError()) : std::nullopt);
    json.key("intercept_se").value(uncertainty ? std::optional(uncertainty->errorAt(0)) : std::nullopt);
}

void writeComparePlace(JsonWriter& json, const StudyPairPlace& place)
{
    json.key("line").value(place.line).key("sample").value(place.sample);
}

void writeExcludedPairs(JsonWriter& json, const std::vector<ExcludedPair>& excluded)
{
    json.key("excluded").beginArray();
    for (const ExcludedPair& one : excluded) {
        json.beginObject();
        writeComparePlace(json, one.place);
        json.key("reason").value(one.reason).endObject();
    }
    json.endArray();
}

void writeCompareAgreement(JsonWriter& json, const StudyCompareReport& report)
{
    const stats::Agreement& agreement = report.agreement;
    json.key("agreement").beginObject();
    json.key("bias").value(agreement.bias).key("sd").value(agreement.sd);
    json.key("lower").value(agreement.lower).key("upper").value(agreement.upper);
    writeBounds(json.key("bias_ci"), agreement.biasCi);
    writeBounds(json.key("lower_ci"), agreement.lowerCi);
    writeBounds(json.key("upper_ci"), agreement.upperCi);
    json.key("bias_se").value(agreement.biasError).key("limit_se").value(agreement.limitError);
    json.key("mean_percent").value(report.meanPercent);
    json.key("worst").beginObject();
    writeComparePlace(json, report.pairs.places[report.worst]);
    json.key("difference").value(report.pairs.test[report.worst] - report.pairs.reference[report.worst]).endObject().endObject();
}

void writeCompareDeming(JsonWriter& json, const char* key, const stats::Deming& deming, double errorRatio)
{
    json.key(key).beginObject();
    writeCompareLine(json, deming.line, deming.slopeCi, deming.interceptCi);
    writeCompareErrors(json, deming.uncertainty);
    json.key("error_ratio").value(errorRatio).endObject();
}

std::optional<stats::StraightLine> passingBablokLine(const stats::PassingBablok& fit)
{
    if (!fit.slope || !fit.intercept)
        return std::nullopt;
    return stats::StraightLine { *fit.slope, *fit.intercept };
}

void writeComparePassingBablok(JsonWriter& json, const stats::PassingBablok& fit)
{
    json.key("passing_bablok").beginObject();
    writeCompareLine(json, passingBablokLine(fit), fit.slopeCi, fit.interceptCi);
    json.key("linear");
    if (fit.linearity)
        json.value(fit.linearity->linear);
    else
        json.null();
    json.key("cusum_largest").value(fit.linearity ? std::optional(fit.linearity->largest) : std::nullopt);
    json.key("cusum_critical").value(fit.linearity ? std::optional(fit.linearity->critical) : std::nullopt);
    json.key("slopes_used").value(fit.slopes).endObject();
}

void writeCompareLeastSquares(JsonWriter& json, const stats::LeastSquares& fit)
{
    json.key("least_squares").beginObject();
    writeCompareLine(json, fit.line, fit.slopeCi, fit.interceptCi);
    writeCompareErrors(json, fit.uncertainty);
    json.key("r").value(fit.r).key("r_squared").value(fit.rSquared).key("residual_sd").value(fit.residualSd).endObject();
}

void writeBiasAt(JsonWriter& json, const std::vector<LevelBias>& levels)
{
    json.key("bias_at").beginArray();
    for (const LevelBias& one : levels) {
        json.beginObject().key("level").value(one.level).key("bias").value(one.bias).key("percent").value(one.percent);
        writeBounds(json.key("ci"), one.ci);
        json.key("outside_range").value(one.outside).endObject();
    }
    json.endArray().key("bias_from").value("deming");
}

// Table

std::optional<double> percentOf(double difference, double reference)
{
    return reference == 0 ? std::nullopt : std::optional(100 * difference / reference);
}

std::string placeText(const StudyPairPlace& place)
{
    return "line " + std::to_string(place.line) + (place.sample && !place.sample->empty() ? " (" + *place.sample + ")" : "");
}

std::string unitText(const StudyCompareReport& report)
{
    return report.options.unit ? " " + std::string(base::toText(*report.options.unit)) : "";
}

std::string compareHeadTable(const StudyCompareReport& report)
{
    std::string text = "Pairs compared: " + std::to_string(report.agreement.n) + (report.options.unit ? "," + unitText(report) : "")
        + ". A difference is test minus reference.\n";
    if (report.pairs.excluded.empty())
        return text;
    text += "Pairs excluded: " + std::to_string(report.pairs.excluded.size()) + "\n";
    for (const ExcludedPair& one : report.pairs.excluded)
        text += "  " + placeText(one.place) + ": " + one.reason + "\n";
    return text;
}

std::string pairTable(const StudyPairs& pairs)
{
    if (pairs.test.size() > kMostListedPairs)
        return "";
    const bool named = pairs.places.front().sample.has_value();
    CompareTable rows = { { "line" } };
    if (named)
        rows.back().push_back("sample");
    rows.back().insert(rows.back().end(), { "reference", "test", "difference", "%" });
    for (std::size_t i = 0; i < pairs.test.size(); ++i) {
        const double difference = pairs.test[i] - pairs.reference[i];
        auto& row = rows.emplace_back();
        row.push_back(std::to_string(pairs.places[i].line));
        if (named)
            row.push_back(pairs.places[i].sample.value_or(""));
        row.insert(row.end(),
            { shortNumber(pairs.reference[i]), shortNumber(pairs.test[i]), shortNumber(difference),
                hundredthsText(percentOf(difference, pairs.reference[i])) });
    }
    return alignedTable(rows);
}

std::string agreementTable(const StudyCompareReport& report)
{
    const stats::Agreement& agreement = report.agreement;
    const double worst = report.pairs.test[report.worst] - report.pairs.reference[report.worst];
    return alignedTable({ { "Agreement", "", intervalName(report.options.confidence) },
               { "bias", shortNumber(agreement.bias), boundsText(agreement.biasCi) },
               { "mean difference, %", hundredthsText(report.meanPercent) }, { "SD of differences", maybeText(agreement.sd) },
               { "lower limit", maybeText(agreement.lower), boundsText(agreement.lowerCi) },
               { "upper limit", maybeText(agreement.upper), boundsText(agreement.upperCi) },
               { "largest difference", shortNumber(worst), placeText(report.pairs.places[report.worst]) } })
        + (report.options.limitError == stats::LimitError::Full
                ? "Limits: bias ± 1.96 SD; standard error of a limit s sqrt(1/n + z²/(2(n-1))).\n"
                : "Limits: bias ± 1.96 SD; standard error of a limit s sqrt(3/n).\n");
}

std::vector<std::string> lineRow(
    const std::string& name, const std::optional<stats::StraightLine>& line, const MaybeInterval& slopeCi, const MaybeInterval& interceptCi)
{
    if (!line)
        return { name, "-", "no line can be drawn" };
    return { name, shortNumber(line->slope), boundsText(slopeCi), shortNumber(line->intercept), boundsText(interceptCi) };
}

std::string linearityText(const stats::PassingBablok& fit)
{
    if (!fit.linearity)
        return "";
    return fit.linearity->linear
        ? "Passing-Bablok: no sign of a curve (cusum test, 5 %, conservative: weak evidence of a straight line; look at the plot).\n"
        : "Passing-Bablok: the points do not follow a straight line (cusum test, 5 %); do not rely on the lines.\n";
}

std::string biasTable(const StudyCompareReport& report)
{
    CompareTable rows = { { "Bias at level", "bias", "%", intervalName(report.options.confidence) } };
    bool outside = false;
    for (const LevelBias& one : report.biasAt) {
        rows.push_back(
            { shortNumber(one.level) + (one.outside ? " *" : ""), maybeText(one.bias), hundredthsText(one.percent), boundsText(one.ci) });
        outside = outside || one.outside;
    }
    return alignedTable(rows) + "Read off Deming's line.\n"
        + (outside ? "* No reference value reaches this level; the line is drawn out to it.\n" : "");
}

std::string regressionTable(const StudyCompareReport& report)
{
    if (report.agreement.n < kFewestForLine)
        return "Regression and bias at levels are shown from " + std::to_string(kFewestForLine)
            + " pairs on; --json has them from fewer.\n";
    const std::string interval = intervalName(report.options.confidence);
    const stats::PassingBablok& passingBablok = report.passingBablok;
    CompareTable rows = { { "Regression", "slope", interval, "intercept", interval },
        lineRow("Deming", report.deming.line, report.deming.slopeCi, report.deming.interceptCi) };
    if (report.weightedDeming)
        rows.push_back(
            lineRow("weighted Deming", report.weightedDeming->line, report.weightedDeming->slopeCi, report.weightedDeming->interceptCi));
    rows.push_back(lineRow("Passing-Bablok", passingBablokLine(passingBablok), passingBablok.slopeCi, passingBablok.interceptCi));
    rows.push_back(lineRow("least squares", report.leastSquares.line, report.leastSquares.slopeCi, report.leastSquares.interceptCi));
    return alignedTable(rows) + "Lines give the test for a reference. Deming: error ratio " + shortNumber(report.options.errorRatio)
        + " (reference over test, variances), jackknife. Passing-Bablok of 1983.\n"
        + (report.agreement.n < kFewestForSureLine ? "Indicative only: fewer than " + std::to_string(kFewestForSureLine) + " pairs.\n" : "")
        + linearityText(passingBablok) + "Correlation r " + maybeText(report.leastSquares.r) + ", which says nothing about agreement.\n\n"
        + biasTable(report);
}

// Plot

/// A line over the whole panel with the ends of its interval, dotted.
void drawAgreementLine(
    report::PlotPanel& panel, double at, const std::string& label, const MaybeInterval& interval, report::PlotStroke stroke)
{
    panel.limits.push_back({ at, label + " " + titleNumber(at), stroke });
    if (!interval)
        return;
    panel.limits.push_back({ interval->lower, {}, report::PlotStroke::Dotted });
    panel.limits.push_back({ interval->upper, {}, report::PlotStroke::Dotted });
}

std::string compareAxis(const StudyCompareReport& report, const std::string& name)
{
    return name + (report.options.unit ? "," + unitText(report) : "");
}

/// Room about the only point of a plot, which would stand on its frame otherwise; nothing with more pairs.
double onlyPointRoom(const StudyCompareReport& report)
{
    return report.agreement.n == 1 ? std::max(1.0, std::abs(report.agreement.bias) / 2) : 0;
}

report::PlotPanel differencePanel(const StudyCompareReport& report)
{
    const StudyPairs& pairs = report.pairs;
    std::vector<double> differences(pairs.test.size());
    std::ranges::transform(pairs.test, pairs.reference, differences.begin(), std::minus());
    report::PlotPanel panel;
    panel.title = report.agreement.sd ? "Differences, with bias, limits of agreement and their intervals" : "Difference";
    panel.x.title = compareAxis(report, "Reference");
    panel.y.title = compareAxis(report, "Test minus reference");
    panel.points = { { {}, pairs.reference, differences, report::PlotShape::Ring } };
    panel.limits = { { 0, {}, report::PlotStroke::Faint } };
    drawAgreementLine(panel, report.agreement.bias, "bias", report.agreement.biasCi, report::PlotStroke::Solid);
    if (report.agreement.lower && report.agreement.upper) {
        drawAgreementLine(panel, *report.agreement.lower, "lower", report.agreement.lowerCi, report::PlotStroke::Dashed);
        drawAgreementLine(panel, *report.agreement.upper, "upper", report.agreement.upperCi, report::PlotStroke::Dashed);
    }
    if (const double room = onlyPointRoom(report); room > 0) {
        panel.y.lower = std::min(0.0, report.agreement.bias) - room;
        panel.y.upper = std::max(0.0, report.agreement.bias) + room;
    }
    return panel;
}

void drawCompareLine(report::PlotPanel& panel, const std::string& name, const std::optional<stats::StraightLine>& line, double from,
    double to, report::PlotStroke stroke)
{
    if (!line)
        return;
    const std::string sign = line->intercept < 0 ? " - " : " + ";
    const std::string formula = titleNumber(line->slope) + " x" + sign + titleNumber(std::abs(line->intercept));
    panel.curves.push_back({ name + ": " + formula, { from, to }, { line->at(from), line->at(to) }, stroke });
}

report::PlotPanel regressionPanel(const StudyCompareReport& report)
{
    const StudyPairs& pairs = report.pairs;
    const auto [from, to] = std::ranges::minmax(pairs.reference);
    const auto [lowest, highest] = std::ranges::minmax(pairs.test);
    report::PlotPanel panel;
    panel.title = "Test against reference";
    panel.sameScale = true;
    panel.x.title = compareAxis(report, "Reference");
    panel.y.title = compareAxis(report, "Test");
    panel.points = { { {}, pairs.reference, pairs.test, report::PlotShape::Ring } };
    const double room = onlyPointRoom(report);
    const std::vector<double> both = { std::min(from, lowest) - room, std::max(to, highest) + room };
    panel.curves = { { "test = reference", both, both, report::PlotStroke::Dotted } };
    if (report.agreement.n < kFewestForLine)
        return panel;
    drawCompareLine(panel, "Deming", report.deming.line, from, to, report::PlotStroke::Strong);
    drawCompareLine(panel, "Passing-Bablok", passingBablokLine(report.passingBablok), from, to, report::PlotStroke::Dashed);
    return panel;
}

std::string compareFinding(const StudyCompareReport& report)
{
    const stats::Agreement& agreement = report.agreement;
    std::string text = "Bias " + titleNumber(agreement.bias) + unitText(report);
    if (agreement.lower && agreement.upper)
        text += ", limits of agreement " + titleNumber(*agreement.lower) + " to " + titleNumber(*agreement.upper);
    return text + ", " + std::to_string(agreement.n) + (agreement.n == 1 ? " pair" : " pairs");
}

std::string compareFootnote(const StudyCompareReport& report)
{
    const std::size_t n = report.agreement.n;
    std::string text;
    if (report.agreement.sd)
        text += "Limits: bias ± 1.96 SD of the differences; dotted: ends of the " + intervalName(report.options.confidence) + "s. ";
    if (n < kFewestForLine)
        text += "Regression lines are drawn from " + std::to_string(kFewestForLine) + " pairs on.";
    else
        text += "Deming with error ratio " + shortNumber(report.options.errorRatio) + "; Passing-Bablok of 1983."
            + (n < kFewestForSureLine ? " Lines are indicative only: fewer than " + std::to_string(kFewestForSureLine) + " pairs." : "");
    return text + (report.pairs.excluded.empty() ? "" : " Pairs excluded: " + std::to_string(report.pairs.excluded.size()) + ".");
}

} // namespace

std::string studyCompareJson(const StudyCompareReport& report)
{
    JsonWriter json;
    json.beginObject().key("format").value(1).key("n").value(report.agreement.n);
    writeExcludedPairs(json, report.pairs.excluded);
    writeCompareAgreement(json, report);
    writeCompareDeming(json, "deming", report.deming, report.options.errorRatio);
    if (report.weightedDeming)
        writeCompareDeming(json, "weighted_deming", *report.weightedDeming, report.options.errorRatio);
    writeComparePassingBablok(json, report.passingBablok);
    writeCompareLeastSquares(json, report.leastSquares);
    writeBiasAt(json, report.biasAt);
    if (report.accuracy)
        writeStudyAccuracy(json, *report.accuracy);
    json.key("indicative").value(report.agreement.n < kFewestForSureLine);
    json.key("confidence").value(report.options.confidence).key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyCompareTable(const StudyCompareReport& report)
{
    std::string text = compareHeadTable(report) + "\n";
    if (const std::string pairs = pairTable(report.pairs); !pairs.empty())
        text += pairs + "\n";
    text += agreementTable(report) + "\n" + regressionTable(report);
    if (report.accuracy)
        text += "\n" + studyAccuracyTable(*report.accuracy);
    return text + ignoredLine(report.ignoredColumns);
}

report::PlotScene studyComparePlot(const StudyCompareReport& report)
{
    return { compareFinding(report), compareFootnote(report), { differencePanel(report), regressionPanel(report) } };
}

} // namespace mk::study
