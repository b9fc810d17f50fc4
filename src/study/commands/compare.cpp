// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/compare.h"

#include "study/terminal/printing.h"
#include "study/terminal/usage.h"
#include "study/terminal/typed_numbers.h"
#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"
#include "stats/compare/weighted_deming.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cmath>
#include <memory>
#include <tuple>

namespace mk::study {

namespace {

std::optional<double> meanPercentDifference(const StudyPairs& pairs)
{
    long double sum = 0;
    for (std::size_t i = 0; i < pairs.test.size(); ++i) {
        if (pairs.reference[i] == 0)
            return std::nullopt;
        sum += 100 * (static_cast<long double>(pairs.test[i]) - pairs.reference[i]) / pairs.reference[i];
    }
    const double mean = static_cast<double>(sum / static_cast<long double>(pairs.test.size()));
    return mean;
}

std::size_t worstPair(const StudyPairs& pairs)
{
    std::size_t worst = 0;
    double most = 0;
    for (std::size_t i = 0; i < pairs.test.size(); ++i) {
        const double difference = std::abs(pairs.test[i] - pairs.reference[i]);
        if (difference > most) {
            most = difference;
            worst = i;
        }
    }
    return worst;
}

LevelBias biasAtLevel(const stats::Deming& deming, double level, double confidence)
{
    LevelBias result;
    result.level = level;
    if (!deming.line)
        return result;
    const double bias = deming.line->at(level) - level;
    result.bias = bias;
    if (level != 0)
        result.percent = 100 * bias / level;
    if (deming.uncertainty)
        result.ci = stats::studentInterval(bias, deming.uncertainty->errorAt(level), deming.uncertainty->df, confidence);
    return result;
}

std::vector<LevelBias> biasAtLevels(const StudyCompareReport& report)
{
    const auto [lowest, highest] = std::ranges::minmax(report.pairs.reference);
    std::vector<LevelBias> all;
    for (const double level : report.options.levels) {
        all.push_back(biasAtLevel(report.deming, level, report.options.confidence));
        all.back().outside = level < lowest || level > highest;
    }
    return all;
}

/// A weighted line of so many pairs takes about ten seconds, of ten times as many a quarter of an hour.
constexpr std::size_t kMostWeightedPairs = 20'000;

base::Done checkWeightedPairs(std::size_t pairs)
{
    if (pairs <= kMostWeightedPairs)
        return {};
    return base::badInput(
        "--weighted takes time with the square of the pairs and is done up to %1, not %2; leave it out or compare fewer pairs",
        kMostWeightedPairs, pairs);
}

/// The statistics that can fail on these pairs.
base::Done addComparisons(StudyCompareReport& report)
{
    const auto& [reference, test] = std::tie(report.pairs.reference, report.pairs.test);
    const StudyCompareOptions& options = report.options;
    if (options.weighted) {
        if (const auto checked = checkWeightedPairs(reference.size()); !checked)
            return checked.error();
    }
    const auto agreement = stats::agreement(reference, test, options.confidence, options.limitError);
    if (!agreement)
        return agreement.error();
    const auto deming = stats::deming(reference, test, options.errorRatio, options.confidence);
    if (!deming)
        return deming.error();
    const auto passingBablok = stats::passingBablok(reference, test, options.confidence);
    if (!passingBablok)
        return passingBablok.error();
    const auto ranks = stats::rankCorrelation(reference, test);
    if (!ranks)
        return ranks.error();
    const auto leastSquares = stats::leastSquares(reference, test, {}, options.confidence);
    if (!leastSquares)
        return leastSquares.error();
    report.agreement = *agreement;
    report.deming = *deming;
    report.passingBablok = *passingBablok;
    report.ranks = *ranks;
    report.leastSquares = *leastSquares;
    if (!options.weighted)
        return {};
    const auto weighted = stats::weightedDeming(reference, test, options.errorRatio, options.confidence);
    if (!weighted)
        return weighted.error();
    report.weightedDeming = *weighted;
    return {};
}

/// Percentages of a number next to nothing may leave the range of doubles, though the differences do not.
bool comparePercentsFinite(const StudyCompareReport& report)
{
    const StudyPairs& pairs = report.pairs;
    for (std::size_t i = 0; i < pairs.test.size(); ++i) {
        if (pairs.reference[i] != 0 && !std::isfinite(100 * (pairs.test[i] - pairs.reference[i]) / pairs.reference[i]))
            return false;
    }
    return std::ranges::all_of(report.biasAt, [](const LevelBias& one) {
        const stats::Interval ci = one.ci.value_or(stats::Interval {});
        return stats::allFinite({ one.bias, one.percent, ci.lower, ci.upper });
    });
}

base::Done checkCompareOptions(const StudyCompareOptions& options)
{
    if (!(options.errorRatio > 0) || !std::isfinite(options.errorRatio))
        return base::fault(base::FaultKind::BadInput, "--error-ratio must be above 0, such as 1");
    if (!(options.confidence > 0 && options.confidence < 1))
        return base::fault(base::FaultKind::BadInput, "--confidence must lie between 0 and 1, such as 0.95");
    if (!(options.pairs.windowMinutes >= 0))
        return base::fault(base::FaultKind::BadInput, "--window-minutes must be 0 or more, such as 15");
    return {};
}

struct StudyCompareArguments {
    std::string file;
    std::string plot;
    std::string unit = "none";
    std::string levels;
    std::string haematocrit;
    std::string limitError = "full";
    StudyCompareOptions options;
};

std::vector<double> defaultCompareLevels(std::optional<base::GlucoseUnit> unit)
{
    if (unit == base::GlucoseUnit::MmolPerL)
        return { 3.9, 7, 10 };
    return { 70, 126, 180 };
}

base::Result<StudyCompareOptions> compareOptions(const StudyCompareArguments& arguments)
{
    StudyCompareOptions options = arguments.options;
    options.unit = base::glucoseUnitNamed(arguments.unit);
    options.limitError = arguments.limitError == "simple" ? stats::LimitError::Simple : stats::LimitError::Full;
    options.levels = defaultCompareLevels(options.unit);
    if (!arguments.levels.empty()) {
        auto levels = studyReals("--at-levels", arguments.levels);
        if (!levels)
            return levels.error();
        options.levels = std::move(levels).value();
    }
    if (!arguments.haematocrit.empty()) {
        const auto range = parseStudyRange(arguments.haematocrit);
        if (!range)
            return base::fault(range.error().kind, "--haematocrit: %1", range.error());
        options.pairs.haematocrit = *range;
    }
    return options;
}

int runStudyCompare(const StudyCompareArguments& arguments, bool json)
{
    const auto options = compareOptions(arguments);
    if (!options)
        return printFault(options.error());
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    return printStudy(studyCompare(*file, *options), json, arguments.plot, studyCompareJson, studyCompareTable, studyComparePlot);
}

void addCompareOptions(CLI::App& command, StudyCompareArguments& arguments)
{
    StudyCompareOptions& options = arguments.options;
    command.add_option("FILE", arguments.file, "CSV with reference,test and, where recorded, sample,haematocrit,minutes")->required();
    oneOf(command.add_option(
              "--unit", arguments.unit, "Unit of both columns; with mg/dL or mmol/L accuracy criteria and error grids are told too"),
        { "mg/dL", "mmol/L", "none" })
        ->capture_default_str();
    command.add_option("--error-ratio", options.errorRatio, "Deming: variance of the reference's error over that of the test's")
        ->capture_default_str();
    command.add_option("--at-levels", arguments.levels, "Where to tell the bias (default 70,126,180; in mmol/L 3.9,7,10)");
    command.add_option("--confidence", options.confidence, "Of every interval; limits of agreement are always the 95 % limits")
        ->capture_default_str();
    command.add_option("--window-minutes", options.pairs.windowMinutes, "Pairs with more minutes between the samplings are excluded")
        ->capture_default_str();
    command.add_option("--haematocrit", arguments.haematocrit, "Pairs with a haematocrit outside LOW-HIGH are excluded, such as 20-60");
    oneOf(command.add_option("--limit-error", arguments.limitError,
              "Standard error of a limit of agreement: s sqrt(1/n + z²/(2(n-1))) (full), or s sqrt(3/n) (simple)"),
        { "full", "simple" })
        ->capture_default_str();
    command.add_flag("--weighted", options.weighted,
        "Also a weighted Deming line, for errors of a constant CV; at most 20000 pairs, for it takes time with their square");
    addPlotOption(command, arguments.plot);
}

} // namespace

std::optional<stats::StraightLine> passingBablokLine(const StudyCompareReport& report)
{
    const stats::PassingBablok& fit = report.passingBablok;
    if (report.doesNotRise() || !fit.slope || !fit.intercept)
        return std::nullopt;
    return stats::StraightLine { *fit.slope, *fit.intercept };
}

base::Result<StudyCompareReport> studyCompare(const StudyFile& file, const StudyCompareOptions& options)
{
    if (const auto checked = checkCompareOptions(options); !checked)
        return checked.error();
    auto pairs = readStudyPairs(file, options.pairs, options.unit ? PairNumbers::GlucoseResults : PairNumbers::Doubles);
    if (!pairs)
        return pairs.error();
    StudyCompareReport report;
    report.options = options;
    report.pairs = std::move(pairs).value();
    if (const auto added = addComparisons(report); !added)
        return file.fault(added.error());
    report.meanPercent = meanPercentDifference(report.pairs);
    report.worst = worstPair(report.pairs);
    report.biasAt = biasAtLevels(report);
    if (!comparePercentsFinite(report))
        return file.fault(stats::tooFarApart());
    if (options.unit)
        report.accuracy = studyAccuracy(report.pairs.exactReference, report.pairs.exactTest, *options.unit);
    report.ignoredColumns = file.ignored({ "reference", "test", "sample", "haematocrit", "minutes" });
    return report;
}

void addStudyCompare(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("compare", "Compare a meter with a reference: agreement, regression, bias at levels, accuracy");
    auto arguments = std::make_shared<StudyCompareArguments>();
    addCompareOptions(*command, *arguments);
    command->footer(
        "How it is computed:\n"
        "  A difference is test minus reference; lines give the test for a reference. Limits of agreement are bias -+ 1.96 SD (n - 1),\n"
        "  t intervals. Deming in closed form, jackknife intervals (Linnet), t with n - 2; the bias at a level is read off its line.\n"
        "  Passing-Bablok by the rule of 1983, ties found in decimal: no slope of exactly -1, limits by rank without a correction for\n"
        "  ties; no line where the test does not rise with the reference (Kendall's tau, ties as 0, is not above 0).\n"
        "  Least squares takes the reference as free of error.\n"
        "  Linearity: the cusum of scores sqrt(L/l) for a point above the line and -sqrt(l/L) below it (l points above, L below), in\n"
        "  their order along the line, against 1.36 sqrt(L + l) (5 %, Kolmogorov-Smirnov). It is conservative, so that\n"
        "  no sign of a curve is weak evidence: look at the plot.\n"
        "  Consensus grid type 1, a point on a border in the zone with less risk; Clarke 1987 by its text.\n"
        "  With a unit every number must be a glucose result, from 0 to a million; another is refused with its line.\n"
        "  A pair at the end of the window or of the haematocrit range counts; an empty cell excludes nothing. Nothing else is excluded.\n"
        "Example:\n  meterkeep-cli study compare pairs.csv --unit mg/dL --at-levels 70,126,180 --plot pairs.pdf");
    whenChosen(*command, chosen, [arguments, &json] { return runStudyCompare(*arguments, json); });
}

} // namespace mk::study
