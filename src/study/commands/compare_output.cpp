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

/// From how many pairs on a regression is shown to people: handbook 5.5.
constexpr std::size_t kFewestForLine = 20;
/// Up to so many pairs are listed one by one.
constexpr std::size_t kMostListedPairs = 50;

// Table

std::optional<double> percentOf(double difference, double reference)
{
    return reference == 0 ? std::nullopt : std::optional(100 * difference / reference);
}

std::string placeText(const StudyPairPlace& place)
{
    const std::string line = std::to_string(place.line);
    return place.sample && !place.sample->empty() ? said(StudyTexts::tr("line %1 (%2)"), line, *place.sample)
                                                  : said(StudyTexts::tr("line %1"), line);
}

std::string unitText(const StudyCompareReport& report)
{
    return report.options.unit ? " " + std::string(base::toText(*report.options.unit)) : "";
}

std::string compareHeadTable(const StudyCompareReport& report)
{
    const std::string n = std::to_string(report.agreement.n);
    std::string text = report.options.unit
        ? said(StudyTexts::tr("Pairs compared: %1, %2. A difference is test minus reference."), n, base::toText(*report.options.unit))
        : said(StudyTexts::tr("Pairs compared: %1. A difference is test minus reference."), n);
    text += '\n';
    if (report.pairs.excluded.empty())
        return text;
    text += said(StudyTexts::tr("Pairs excluded: %1"), std::to_string(report.pairs.excluded.size())) + '\n';
    for (const ExcludedPair& one : report.pairs.excluded)
        text += "  " + placeText(one.place) + ": " + one.reason + "\n";
    return text;
}

std::string pairTable(const StudyPairs& pairs)
{
    if (pairs.test.size() > kMostListedPairs)
        return "";
    const bool named = pairs.places.front().sample.has_value();
    CompareTable rows = { { said(StudyTexts::tr("line")) } };
    if (named)
        rows.back().push_back(said(StudyTexts::tr("sample")));
    rows.back().insert(
        rows.back().end(), { said(StudyTexts::tr("reference")), said(StudyTexts::tr("test")), said(StudyTexts::tr("difference")), "%" });
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
    return alignedTable({ { said(StudyTexts::tr("Agreement")), "", intervalName(report.options.confidence) },
               { said(StudyTexts::tr("bias")), shortNumber(agreement.bias), boundsText(agreement.biasCi) },
               { said(StudyTexts::tr("mean difference, %")), hundredthsText(report.meanPercent) },
               { said(StudyTexts::tr("SD of differences")), maybeText(agreement.sd) },
               { said(StudyTexts::tr("lower limit")), maybeText(agreement.lower), boundsText(agreement.lowerCi) },
               { said(StudyTexts::tr("upper limit")), maybeText(agreement.upper), boundsText(agreement.upperCi) },
               { said(StudyTexts::tr("largest difference")), shortNumber(worst), placeText(report.pairs.places[report.worst]) } })
        + said(report.options.limitError == stats::LimitError::Full
                ? StudyTexts::tr("Limits: bias ± 1.96 SD; standard error of a limit s sqrt(1/n + z²/(2(n-1))).")
                : StudyTexts::tr("Limits: bias ± 1.96 SD; standard error of a limit s sqrt(3/n)."))
        + '\n';
}

std::vector<std::string> lineRow(
    const std::string& name, const std::optional<stats::StraightLine>& line, const MaybeInterval& slopeCi, const MaybeInterval& interceptCi)
{
    if (!line)
        return { name, "-", said(StudyTexts::tr("no line can be drawn")) };
    return { name, shortNumber(line->slope), boundsText(slopeCi), shortNumber(line->intercept), boundsText(interceptCi) };
}

/// Why there is no line, or whether the points follow one.
std::string passingBablokText(const StudyCompareReport& report)
{
    if (report.doesNotRise())
        return said(
                   StudyTexts::tr("Passing-Bablok: no line, for the test does not rise with the reference (rank correlation, Kendall's tau "
                                  "%1): see whether the pairs belong together and span a wide range."),
                   shortNumber(*report.ranks.tau))
            + '\n';
    const stats::PassingBablok& fit = report.passingBablok;
    if (!fit.linearity)
        return "";
    return said(fit.linearity->linear
                   ? StudyTexts::tr("Passing-Bablok: no sign of a curve (cusum test, 5 %, conservative: weak evidence of a straight line; "
                                    "look at the plot).")
                   : StudyTexts::tr("Passing-Bablok: the points do not follow a straight line (cusum test, 5 %); do not rely on the "
                                    "lines."))
        + '\n';
}

std::string biasTable(const StudyCompareReport& report)
{
    CompareTable rows = { { said(StudyTexts::tr("Bias at level")), said(StudyTexts::tr("bias")), "%",
        intervalName(report.options.confidence) } };
    bool outside = false;
    for (const LevelBias& one : report.biasAt) {
        rows.push_back(
            { shortNumber(one.level) + (one.outside ? " *" : ""), maybeText(one.bias), hundredthsText(one.percent), boundsText(one.ci) });
        outside = outside || one.outside;
    }
    return alignedTable(rows) + said(StudyTexts::tr("Read off Deming's line.")) + '\n'
        + (outside ? said(StudyTexts::tr("* No reference value reaches this level; the line is drawn out to it.")) + '\n' : "");
}

/// What is to be known of the lines.
std::string linesInWords(const StudyCompareReport& report)
{
    std::string text = said(StudyTexts::tr("Lines give the test for a reference. Deming: error ratio %1 (reference over test, variances), "
                                           "jackknife. Passing-Bablok of 1983."),
                           shortNumber(report.options.errorRatio))
        + '\n';
    if (report.agreement.n < kFewestForSureLine)
        text += said(StudyTexts::tr("Indicative only: fewer than %1 pairs."), std::to_string(kFewestForSureLine)) + '\n';
    return text + passingBablokText(report)
        + said(StudyTexts::tr("Correlation r %1, which says nothing about agreement."), maybeText(report.leastSquares.r)) + "\n\n";
}

std::string regressionTable(const StudyCompareReport& report)
{
    if (report.agreement.n < kFewestForLine)
        return said(StudyTexts::tr("Regression and bias at levels are shown from %1 pairs on; --json has them from fewer."),
                   std::to_string(kFewestForLine))
            + '\n';
    const std::string interval = intervalName(report.options.confidence);
    const stats::PassingBablok& passingBablok = report.passingBablok;
    CompareTable rows = { { said(StudyTexts::tr("Regression")), said(StudyTexts::tr("slope")), interval, said(StudyTexts::tr("intercept")),
                              interval },
        lineRow(said(StudyTexts::tr("Deming")), report.deming.line, report.deming.slopeCi, report.deming.interceptCi) };
    if (report.weightedDeming)
        rows.push_back(lineRow(said(StudyTexts::tr("weighted Deming")), report.weightedDeming->line, report.weightedDeming->slopeCi,
            report.weightedDeming->interceptCi));
    rows.push_back(
        lineRow(said(StudyTexts::tr("Passing-Bablok")), passingBablokLine(report), passingBablok.slopeCi, passingBablok.interceptCi));
    rows.push_back(lineRow(
        said(StudyTexts::tr("least squares")), report.leastSquares.line, report.leastSquares.slopeCi, report.leastSquares.interceptCi));
    return alignedTable(rows) + linesInWords(report) + biasTable(report);
}

// Plot

/// A line over the whole panel with the ends of its interval, dotted.
void drawAgreementLine(report::PlotPanel& panel, double at, const QString& label, const MaybeInterval& interval, report::PlotStroke stroke)
{
    panel.limits.push_back({ at, said(label, titleNumber(at)), stroke });
    if (!interval)
        return;
    panel.limits.push_back({ interval->lower, {}, report::PlotStroke::Dotted });
    panel.limits.push_back({ interval->upper, {}, report::PlotStroke::Dotted });
}

std::string compareAxis(const StudyCompareReport& report, const QString& name)
{
    return report.options.unit ? said(StudyTexts::tr("%1, %2"), name.toStdString(), base::toText(*report.options.unit)) : said(name);
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
    panel.title = said(report.agreement.sd ? StudyTexts::tr("Differences, with bias, limits of agreement and their intervals")
                                           : StudyTexts::tr("Difference"));
    panel.x.title = compareAxis(report, StudyTexts::tr("Reference"));
    panel.y.title = compareAxis(report, StudyTexts::tr("Test minus reference"));
    panel.points = { { {}, pairs.reference, differences, report::PlotShape::Ring } };
    panel.limits = { { 0, {}, report::PlotStroke::Faint } };
    drawAgreementLine(panel, report.agreement.bias, StudyTexts::tr("bias %1"), report.agreement.biasCi, report::PlotStroke::Solid);
    if (report.agreement.lower && report.agreement.upper) {
        drawAgreementLine(panel, *report.agreement.lower, StudyTexts::tr("lower %1"), report.agreement.lowerCi, report::PlotStroke::Dashed);
        drawAgreementLine(panel, *report.agreement.upper, StudyTexts::tr("upper %1"), report.agreement.upperCi, report::PlotStroke::Dashed);
    }
    if (const double room = onlyPointRoom(report); room > 0) {
        panel.y.lower = std::min(0.0, report.agreement.bias) - room;
        panel.y.upper = std::max(0.0, report.agreement.bias) + room;
    }
    return panel;
}

void drawCompareLine(report::PlotPanel& panel, const QString& name, const std::optional<stats::StraightLine>& line, double from, double to,
    report::PlotStroke stroke)
{
    if (!line)
        return;
    const std::string sign = line->intercept < 0 ? " - " : " + ";
    const std::string formula = titleNumber(line->slope) + " x" + sign + titleNumber(std::abs(line->intercept));
    panel.curves.push_back({ said(name, formula), { from, to }, { line->at(from), line->at(to) }, stroke });
}

report::PlotPanel regressionPanel(const StudyCompareReport& report)
{
    const StudyPairs& pairs = report.pairs;
    const auto [from, to] = std::ranges::minmax(pairs.reference);
    const auto [lowest, highest] = std::ranges::minmax(pairs.test);
    report::PlotPanel panel;
    panel.title = said(StudyTexts::tr("Test against reference"));
    panel.sameScale = true;
    panel.x.title = compareAxis(report, StudyTexts::tr("Reference"));
    panel.y.title = compareAxis(report, StudyTexts::tr("Test"));
    panel.points = { { {}, pairs.reference, pairs.test, report::PlotShape::Ring } };
    const double room = onlyPointRoom(report);
    const std::vector<double> both = { std::min(from, lowest) - room, std::max(to, highest) + room };
    panel.curves = { { said(StudyTexts::tr("test = reference")), both, both, report::PlotStroke::Dotted } };
    if (report.agreement.n < kFewestForLine)
        return panel;
    drawCompareLine(panel, StudyTexts::tr("Deming: %1"), report.deming.line, from, to, report::PlotStroke::Strong);
    drawCompareLine(panel, StudyTexts::tr("Passing-Bablok: %1"), passingBablokLine(report), from, to, report::PlotStroke::Dashed);
    return panel;
}

std::string compareFinding(const StudyCompareReport& report)
{
    const stats::Agreement& agreement = report.agreement;
    const std::string bias = titleNumber(agreement.bias) + unitText(report), n = std::to_string(agreement.n);
    if (agreement.lower && agreement.upper)
        return said(StudyTexts::tr("Bias %1, limits of agreement %2 to %3, %4 pairs"), bias, titleNumber(*agreement.lower),
            titleNumber(*agreement.upper), n);
    return said(agreement.n == 1 ? StudyTexts::tr("Bias %1, %2 pair") : StudyTexts::tr("Bias %1, %2 pairs"), bias, n);
}

std::string compareFootnote(const StudyCompareReport& report)
{
    const std::size_t n = report.agreement.n;
    const std::string ratio = shortNumber(report.options.errorRatio);
    std::vector<std::string> lines;
    if (report.agreement.sd)
        lines.push_back(said(StudyTexts::tr("Limits: bias ± 1.96 SD of the differences; dotted: ends of the %1 intervals."),
            percentText(report.options.confidence)));
    if (n < kFewestForLine)
        lines.push_back(said(StudyTexts::tr("Regression lines are drawn from %1 pairs on."), std::to_string(kFewestForLine)));
    else
        lines.push_back(said(report.doesNotRise()
                ? StudyTexts::tr("Deming with error ratio %1; no Passing-Bablok line, for the test does not rise with the reference.")
                : StudyTexts::tr("Deming with error ratio %1; Passing-Bablok of 1983."),
            ratio));
    if (n >= kFewestForLine && n < kFewestForSureLine)
        lines.push_back(said(StudyTexts::tr("Lines are indicative only: fewer than %1 pairs."), std::to_string(kFewestForSureLine)));
    if (!report.pairs.excluded.empty())
        lines.push_back(said(StudyTexts::tr("Pairs excluded: %1."), std::to_string(report.pairs.excluded.size())));
    return joined(lines, " ");
}

} // namespace

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
