// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/compare.h"

#include "study/table/figures.h"
#include "study/terminal/printing.h"

namespace mk::study {

namespace {

/// Why there is no Passing-Bablok line.
constexpr const char* kNoRisingRanks = "rank-correlation-not-positive";

/// Slope and intercept with their intervals, into the open object.
void writeCompareLine(JsonWriter& json, const std::optional<stats::StraightLine>& line, const std::optional<stats::Interval>& slopeCi,
    const std::optional<stats::Interval>& interceptCi)
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

void writePassingBablokFit(JsonWriter& json, const StudyCompareReport& report)
{
    const stats::PassingBablok& fit = report.passingBablok;
    json.beginObject();
    writeCompareLine(json, passingBablokLine(report), fit.slopeCi, fit.interceptCi);
    json.key("linear");
    if (fit.linearity)
        json.value(fit.linearity->linear);
    else
        json.null();
    json.key("cusum_largest").value(fit.linearity ? std::optional(fit.linearity->largest) : std::nullopt);
    json.key("cusum_critical").value(fit.linearity ? std::optional(fit.linearity->critical) : std::nullopt);
    json.key("slopes_used").value(fit.slopes).endObject();
}

/// The fit, or null with the code that says why.
void writeComparePassingBablok(JsonWriter& json, const StudyCompareReport& report)
{
    json.key("passing_bablok");
    if (report.doesNotRise())
        json.null();
    else
        writePassingBablokFit(json, report);
    json.key("passing_bablok_because").value(report.doesNotRise() ? std::optional<std::string>(kNoRisingRanks) : std::nullopt);
    json.key("kendall_tau").value(report.ranks.tau);
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
    writeComparePassingBablok(json, report);
    writeCompareLeastSquares(json, report.leastSquares);
    writeBiasAt(json, report.biasAt);
    if (report.accuracy)
        writeStudyAccuracy(json, *report.accuracy);
    json.key("indicative").value(report.agreement.n < kFewestForSureLine);
    json.key("confidence").value(report.options.confidence).key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

} // namespace mk::study
