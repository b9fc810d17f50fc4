// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/charts.h"

#include "stats/rules/rule.h"
#include "words/numbers.h"
#include "words/states.h"
#include "words/reasons.h"
#include "words/terms.h"

#include <QCoreApplication>

#include <algorithm>

namespace mk::words {

using namespace registry;

namespace {

struct ChartTexts {
    Q_DECLARE_TR_FUNCTIONS(Charts)
};

/// Always with its sign, a true minus.
QString chartScore(double z)
{
    return withSign(z, 2).replace(QLatin1Char('-'), QChar(0x2212));
}

QString verdictLine(const RunRecord& record)
{
    switch (record.judged.verdict) {
    case Verdict::Invalid: return ChartTexts::tr("Invalid: %1").arg(listed(record.judged.invalidBecause));
    case Verdict::Partial: return ChartTexts::tr("No result");
    default: return verdict(record.judged.verdict);
    }
}

QString withRules(const QString& said, const std::vector<std::string>& rules)
{
    //: %1 a verdict, %2 the rules behind it: Rejected (1-3s, 2-2s)
    return rules.empty() ? said : ChartTexts::tr("%1 (%2)").arg(said, listed(rules));
}

QString measured(const RunRecord& record)
{
    const bool number = std::holds_alternative<base::Decimal>(record.run.result);
    QStringList parts { number ? QStringLiteral("%1 %2").arg(reading(record.run.result), unit(record.run.unit))
                               : reading(record.run.result) };
    if (record.judged.z)
        parts << ChartTexts::tr("z %1").arg(chartScore(*record.judged.z));
    if (record.judged.low && record.judged.high)
        parts << ChartTexts::tr("range %1 to %2").arg(text(record.judged.low->typed()), text(record.judged.high->typed()));
    return parts.join(QStringLiteral(", "));
}

/// What the newest drift says, or nothing where none stands at the end.
const acts::DriftFinding* standingDrift(std::span<const SetRecord> sets)
{
    for (auto set = sets.rbegin(); set != sets.rend(); ++set)
        if (set->judged.drift.counted)
            return set->judged.drift.drifts() ? &set->judged.drift : nullptr;
    return nullptr;
}

QString driftTitle(const QString& meter, const acts::DriftFinding& drift, const QString& since)
{
    double bias = 0;
    for (const auto& each : drift.bias)
        bias += each.percent;
    if (drift.usual && drift.usual->told)
        bias = drift.usual->told == "high" ? 1 : -1;
    else if (bias == 0)
        bias = drift.ewma;
    return (bias > 0   ? ChartTexts::tr("%1 drifts upward since %2")
            : bias < 0 ? ChartTexts::tr("%1 drifts downward since %2")
                       : ChartTexts::tr("%1 drifts since %2"))
        .arg(meter, since);
}

QString oneRejected(const QString& meter, const RunRecord& run, const QString& on)
{
    const QString of = level(run.run.level);
    if (!std::holds_alternative<base::Decimal>(run.run.result))
        return ChartTexts::tr("%1: one %2 control read %3 on %4").arg(meter, of, text(toText(run.run.result)), on);
    return (run.judged.inRange == false ? ChartTexts::tr("%1: one %2 control out of range on %3")
                                        : ChartTexts::tr("%1: one %2 control rejected on %3"))
        .arg(meter, of, on);
}

QString rejectedTitle(const QString& meter, std::span<const SetRecord> sets, const Zone& zone)
{
    int rejected = 0;
    const SetRecord* last = nullptr;
    const RunRecord* run = nullptr;
    for (const auto& set : sets)
        for (const auto& record : set.runs)
            if (record.judged.verdict == Verdict::Rejected) {
                rejected += &set == last ? 0 : 1;
                last = &set;
                run = &record;
            }
    if (run == nullptr)
        return {};
    const QString on = dayOfMonth(zone.dateOf(run->run.at));
    return rejected == 1 ? oneRejected(meter, *run, on)
                         : ChartTexts::tr("%1: %n sets rejected, the last on %2", nullptr, rejected).arg(meter, on);
}

QString noneRejected(const QString& meter, std::span<const SetRecord> sets, const Zone& zone)
{
    const int n = static_cast<int>(sets.size());
    const auto signal = std::ranges::find_if(
        sets, [](const SetRecord& set) { return set.judged.drift.counted && set.judged.drift.drifts(); });
    if (signal == sets.end())
        return (n == 1 ? ChartTexts::tr("%1: 1 set, none rejected, no drift")
                       : ChartTexts::tr("%1: %n sets, none rejected, no drift", nullptr, n))
            .arg(meter);
    return (n == 1 ? ChartTexts::tr("%1: 1 set, none rejected; a drift signal from %2 no longer stands")
                   : ChartTexts::tr("%1: %n sets, none rejected; a drift signal from %2 no longer stands", nullptr, n))
        .arg(meter, dayOfMonth(zone.dateOf(signal->judged.lastAt)));
}

} // namespace

QString chartFacts(const RunRecord& record, const Zone& zone)
{
    const QString head = ChartTexts::tr("%1, %2 control").arg(full(record.run.at, zone), level(record.run.level));
    const QString said = withRules(verdictLine(record), record.judged.rules);
    const QString by = text(record.run.by.value), entry = QString::number(record.seq.value);
    const QString last = record.judged.attempt > 1 ? ChartTexts::tr("%1, a repeat, by %2, entry %3").arg(said, by, entry)
                                                   : ChartTexts::tr("%1, by %2, entry %3").arg(said, by, entry);
    const bool leapt = record.mark && record.mark->clockLeapt;
    return head + QLatin1Char('\n') + measured(record) + QLatin1Char('\n') + last
        + (leapt ? QLatin1Char('\n') + ChartTexts::tr("Entered while the workstation's clock stood too far ahead.") : QString());
}

QString chartFacts(const SetRecord& set, const Zone& zone)
{
    QStringList results;
    for (const auto& record : set.runs)
        results << QStringLiteral("%1 %2").arg(level(record.run.level), reading(record.run.result));
    //: %1 when, %2 results, %3 the verdict
    return ChartTexts::tr("%1: %2. %3.")
        .arg(full(set.judged.lastAt, zone), results.join(QStringLiteral(", ")),
            withRules(set.judged.verdict == Verdict::Partial ? ChartTexts::tr("Partial") : verdict(set.judged.verdict), set.judged.rules));
}

QString chartLabel(const RunRecord& record)
{
    if (!record.judged.valid) {
        const auto cause = record.judged.invalidBecause.empty() ? std::nullopt : reasonOf(record.judged.invalidBecause.front());
        const QString why = cause ? onTheChart(*cause) : QString();
        return why.isEmpty() ? ChartTexts::tr("invalid") : ChartTexts::tr("invalid: %1").arg(why);
    }
    if (const auto* code = std::get_if<ErrorCode>(&record.run.result))
        return text(code->code);
    if (!std::holds_alternative<base::Decimal>(record.run.result))
        return text(toText(record.run.result));
    std::vector<std::string> own;
    for (const auto& rule : record.judged.rules)
        if (const auto* row = stats::ruleRowNamed(rule); row != nullptr && row->tells == stats::RuleTells::BadSet)
            own.push_back(rule);
    std::erase_if(own, [&](const std::string& rule) { return rule == "1-2s" && own.size() > 1; });
    if (own.empty() && record.judged.verdict == Verdict::Rejected && record.judged.rules.empty())
        return ChartTexts::tr("out of range");
    return listed(own);
}

QString shortChartLabel(const RunRecord& record)
{
    return record.judged.valid ? QString() : ChartTexts::tr("invalid");
}

/// A mean of results, with the decimals that meters show in either unit.
static QString ofResults(double value)
{
    return withDecimals(value, value < 30 ? 1 : 0);
}

QString meanLine(const std::string& mean)
{
    return ChartTexts::tr("mean %1").arg(text(mean));
}

QString rangeLine(const std::string& bound)
{
    return ChartTexts::tr("range %1").arg(text(bound));
}

QString usualLine(double usual)
{
    return ChartTexts::tr("usual %1").arg(ofResults(usual));
}

QString setOf(std::size_t set, std::size_t sets)
{
    return ChartTexts::tr("Set %1 of %2.").arg(QString::number(set), QString::number(sets));
}

QString pageOf(int page, int pages)
{
    return ChartTexts::tr("page %1 of %2").arg(QString::number(page), QString::number(pages));
}

QString chartWord(IncidentKind kind)
{
    switch (kind) {
    case IncidentKind::Dropped: return ChartTexts::tr("fall");
    case IncidentKind::Wet: return ChartTexts::tr("wet");
    case IncidentKind::Damaged: return ChartTexts::tr("damaged");
    case IncidentKind::ImplausibleResult: return ChartTexts::tr("odd result");
    case IncidentKind::BatteryChanged: return ChartTexts::tr("battery");
    case IncidentKind::SoftwareUpdated: return ChartTexts::tr("software");
    case IncidentKind::ClockWrong: return ChartTexts::tr("clock wrong");
    case IncidentKind::WrongUnit: return ChartTexts::tr("wrong unit");
    case IncidentKind::Temperature: return ChartTexts::tr("temperature");
    case IncidentKind::NotInUse: return ChartTexts::tr("not in use");
    case IncidentKind::Found: return ChartTexts::tr("found");
    case IncidentKind::FieldNotice: return ChartTexts::tr("field notice");
    default: return {}; // cleaning and single error codes say nothing about the statistics
    }
}

QString chartWord(const StateSpell& spell)
{
    using S = MeterState;
    const bool wasOut = spell.before == S::Withdrawn || spell.before == S::Acceptance || spell.before == S::Reserve;
    if (spell.state == S::InService)
        return wasOut ? ChartTexts::tr("returned") : QString();
    const char* const word = sentencesOf(spell.state).onChart;
    return word != nullptr ? QCoreApplication::translate("States", word) : QString();
}

QString lotChange(const QStringList& stripLots, const QStringList& controlLots)
{
    const QString strips = stripLots.join(QStringLiteral(", ")), controls = controlLots.join(QStringLiteral(", "));
    if (strips.isEmpty())
        return ChartTexts::tr("control lot %1").arg(controls);
    return controls.isEmpty() ? ChartTexts::tr("strip lot %1").arg(strips) : ChartTexts::tr("strip lot %1, %2").arg(strips, controls);
}

QString firstRunOnIt()
{
    return ChartTexts::tr("first run on it");
}

QString driftBegins()
{
    return ChartTexts::tr("drift begins, estimate");
}

QString driftFound()
{
    return ChartTexts::tr("drift found");
}

QString driftShown(const acts::DriftFinding& drift)
{
    if (drift.usual && drift.usual->told)
        return drift.usual->told == "high" ? ChartTexts::tr("higher than its usual value") : ChartTexts::tr("lower than its usual value");
    return listed(drift.flags);
}

QString eventLine(base::Moment at, const QString& what, const QString& detail, const Zone& zone)
{
    return detail.isEmpty() ? ChartTexts::tr("%1: %2").arg(full(at, zone), what)
                            : ChartTexts::tr("%1: %2, %3").arg(full(at, zone), what, detail);
}

QString panelTitle(Level level, base::GlucoseUnit of)
{
    return ChartTexts::tr("%1, %2").arg(levelControl(level), unit(of));
}

QString chartTitle(const std::string& id, std::span<const SetRecord> sets, const Zone& zone)
{
    const QString meter = text(id);
    if (sets.empty())
        return ChartTexts::tr("%1: no controls in this period").arg(meter);
    if (const auto* drift = standingDrift(sets); drift != nullptr && drift->driftsSince())
        return driftTitle(meter, *drift, dayOfMonth(zone.dateOf(*drift->driftsSince())));
    const QString rejected = rejectedTitle(meter, sets, zone);
    return rejected.isEmpty() ? noneRejected(meter, sets, zone) : rejected;
}

QString chartSummary(const QString& title, const ChartCounts& counts)
{
    const int n = static_cast<int>(counts.sets);
    return (n == 1 ? ChartTexts::tr("%1. %2 to %3: 1 set; %4 runs rejected, %5 warned, %6 invalid.")
                   : ChartTexts::tr("%1. %2 to %3: %n sets; %4 runs rejected, %5 warned, %6 invalid.", nullptr, n))
        .arg(title, dayOfMonth(counts.from), dayOfMonth(counts.to), QString::number(counts.rejected), QString::number(counts.warned),
            QString::number(counts.invalid));
}

QString ruleOnLevel(const std::string& rule, Level on, std::size_t results)
{
    return ChartTexts::tr("%1 on the %2 control, %3 results.").arg(text(rule), level(on), QString::number(results));
}

QString usualOnLevel(Level of, double usual, std::optional<double> newest)
{
    const QString value = ofResults(usual);
    return newest ? ChartTexts::tr("Its usual %1 control is %2, the mean of the newest ones %3.").arg(level(of), value, ofResults(*newest))
                  : ChartTexts::tr("Its usual %1 control is %2.").arg(level(of), value);
}

} // namespace mk::words
