// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/board_output.h"
#include "cli/lot_commands.h"
#include "cli/output.h"
#include "base/number_text.h"
#include "store/read/lot_records.h"
#include "words/faults.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>
#include <QStringList>

namespace mk::cli {

using namespace registry;
using base::Result;

namespace {

struct LimitOptions {
    std::string stripLot, controlLot, level, meter, reason;
    bool withDrifting = false;
    std::vector<std::string> leftOut; ///< ENTRY=CAUSE
};

Result<store::LimitChoice> choiceOf(const LimitOptions& options)
{
    store::LimitChoice choice;
    if (!options.stripLot.empty())
        choice.stripLot = base::StripLotId(options.stripLot);
    if (!options.controlLot.empty())
        choice.controlLot = base::ControlLotId(options.controlLot);
    if (!options.meter.empty())
        choice.meter = base::MeterId(options.meter);
    if (!options.level.empty()) {
        choice.level = valueOf<Level>(options.level);
        if (!choice.level)
            return base::badInput("--level '%1' is no level; write low, normal or high", options.level);
    }
    choice.withDrifting = options.withDrifting;
    for (const auto& each : options.leftOut) {
        const auto sign = each.find('=');
        const auto seq = TextForm<base::Seq>::read(each.substr(0, sign), {});
        if (!seq || sign == std::string::npos || sign + 1 == each.size())
            return base::badInput(
                "--leave-out '%1' says no entry and cause; write the run's entry and the proven cause, 118=wrong vial", each);
        choice.leftOut[*seq] = each.substr(sign + 1);
    }
    return choice;
}

void writeInterval(JsonWriter& json, std::string_view key, const std::optional<stats::Interval>& interval)
{
    json.key(key);
    if (interval)
        json.beginArray().value(interval->lower).value(interval->upper).endArray();
    else
        json.null();
}

std::optional<std::string> typedOf(const std::optional<base::Decimal>& decimal)
{
    return decimal ? std::optional(decimal->typed()) : std::nullopt;
}

void writeProposal(JsonWriter& json, const LimitProposal& p)
{
    json.beginObject()
        .key("strip_lot")
        .value(p.stripLot.value)
        .key("control_lot")
        .value(p.controlLot.value)
        .key("level")
        .value(word(p.level));
    json.key("meter")
        .value(p.meter ? std::optional(p.meter->value) : std::nullopt)
        .key("stage")
        .value(word(p.stage))
        .key("acceptable")
        .value(p.acceptable());
    json.key("runs")
        .value(p.runs)
        .key("days")
        .value(p.days)
        .key("meters")
        .value(p.meters)
        .key("missing_runs")
        .value(p.missingRuns)
        .key("missing_days")
        .value(p.missingDays);
    json.key("mean")
        .value(p.mean)
        .key("sd")
        .value(p.sd)
        .key("mean_typed")
        .value(typedOf(p.meanTyped))
        .key("sd_typed")
        .value(typedOf(p.sdTyped));
    writeInterval(json, "mean_ci", p.meanCi);
    writeInterval(json, "sd_ci", p.sdCi);
    json.key("former_cv_percent").value(p.former ? std::optional(p.former->cvPercent()) : std::nullopt);
    json.key("former_strip_lot").value(p.former ? std::optional(p.former->stripLot.value) : std::nullopt);
    json.key("excluded").value(p.excludedCount()).key("excluded_because").beginObject();
    for (const auto& [cause, n] : p.excluded)
        json.key(cause).value(n);
    json.endObject().key("sd_finer_than_readings").value(p.sdFinerThanReadings).key("in_force");
    if (p.inForce) {
        const auto& range = p.inForce->act;
        json.beginObject()
            .key("low")
            .value(range.low.typed())
            .key("high")
            .value(range.high.typed())
            .key("unit")
            .value(base::toText(range.unit));
        json.key("mean")
            .value(typedOf(range.mean))
            .key("sd")
            .value(typedOf(range.sd))
            .key("stage")
            .value(word(range.stage.value_or(Stage::Range)));
        json.key("seq").value(p.inForce->seq.value).endObject();
    } else {
        json.null();
    }
    json.key("comparison").beginObject().key("results").value(p.runs);
    json.key("beyond_3sd_in_force").value(p.beyondInForce).key("beyond_3sd_proposed").value(p.beyondProposed).endObject();
    json.key("note").value(p.note ? p.note->text : std::string()).endObject();
}

struct LimitTexts {
    Q_DECLARE_TR_FUNCTIONS(Limits)
};

QString decimalSaid(const std::optional<base::Decimal>& decimal)
{
    return decimal ? words::text(decimal->typed()) : LimitTexts::tr("none");
}

QString basisSaid(const LimitProposal& p)
{
    const QString strips = words::text(p.stripLot.value), controls = words::text(p.controlLot.value), level = words::level(p.level),
                  runs = QString::number(p.runs), days = QString::number(p.days), meters = QString::number(p.meters),
                  excluded = QString::number(p.excludedCount());
    return p.meter ? LimitTexts::tr("%1 with %2, %3, meter %8: %4 results on %5 days and %6 meters, %7 excluded.")
                         .arg(strips, controls, level, runs, days, meters, excluded, words::text(p.meter->value))
                   : LimitTexts::tr("%1 with %2, %3: %4 results on %5 days and %6 meters, %7 excluded.")
                         .arg(strips, controls, level, runs, days, meters, excluded);
}

QString inForceSaid(const acts::RangeAssigned& range)
{
    return LimitTexts::tr("in force: mean %1, SD %2 (%3), range %4 to %5")
        .arg(decimalSaid(range.mean), decimalSaid(range.sd), words::stage(range.stage.value_or(Stage::Range)),
            words::text(range.low.typed()), words::text(range.high.typed()));
}

QString proposedSaid(const LimitProposal& p)
{
    const QString mean = decimalSaid(p.meanTyped), sd = decimalSaid(p.sdTyped), stage = words::stage(p.stage);
    if (p.stage != Stage::Interim || !p.former)
        return LimitTexts::tr("proposed: mean %1, SD %2 (%3)").arg(mean, sd, stage);
    return LimitTexts::tr("proposed: mean %1, SD %2 (%3), CV %4 % carried from %5")
        .arg(mean, sd, stage, words::text(base::fixedText(p.former->cvPercent(), 2)), words::text(p.former->stripLot.value));
}

std::string proposalInWords(const LimitProposal& p)
{
    QStringList lines { basisSaid(p) };
    for (const auto& [cause, n] : p.excluded)
        lines << LimitTexts::tr("excluded: %1 %2").arg(QString::number(n), words::text(cause));
    if (p.inForce)
        lines << inForceSaid(p.inForce->act);
    if (p.meanTyped && p.sdTyped)
        lines << proposedSaid(p);
    if (p.beyondInForce && p.beyondProposed)
        lines << LimitTexts::tr("for comparison only, no verdict changes: %1 of these results lie beyond 3 SD of what is in force, %2 "
                                "beyond 3 SD of what is proposed")
                     .arg(QString::number(*p.beyondInForce), QString::number(*p.beyondProposed));
    if (p.missingRuns + p.missingDays > 0)
        lines << LimitTexts::tr("to the next stage: %1 results and %2 days more")
                     .arg(QString::number(p.missingRuns), QString::number(p.missingDays));
    if (p.sdFinerThanReadings)
        lines << LimitTexts::tr("The SD is finer than the steps in which results are shown; rules would tell steps apart, not results.");
    if (p.note)
        lines << words::said(*p.note);
    return lines.join(QStringLiteral("\n  ")).toStdString() + "\n";
}

int runPropose(const Globals& globals, const LimitOptions& options)
{
    const auto choice = choiceOf(options);
    if (!choice)
        return printFault(choice.error());
    auto open = openForReading(globals);
    if (!open)
        return printFault(open.error());
    if (const base::Done view = open->session->beginRead(); !view)
        return printFault(view.error());
    const auto proposals = store::limitProposals(*open->reader, *choice, open->at);
    if (!proposals)
        return printFault(proposals.error());
    if (!globals.json) {
        std::string text;
        for (const auto& proposal : *proposals)
            text += proposalInWords(proposal);
        return printText(text.empty() ? LimitTexts::tr("No control was run on these lots.").toStdString() + "\n" : text);
    }
    JsonWriter json;
    json.beginObject().key("format").value(1).key("proposals").beginArray();
    for (const auto& proposal : *proposals)
        writeProposal(json, proposal);
    json.endArray().endObject();
    return printText(json.text() + "\n");
}

int runAccept(const Globals& globals, const LimitOptions& options)
{
    if (globals.person.empty())
        return printFault(base::fault(base::FaultKind::BadInput, "nobody is named; say who accepts with --operator ID"));
    const auto choice = choiceOf(options);
    if (!choice)
        return printFault(choice.error());
    auto open = openForWriting(globals);
    if (!open)
        return printFault(open.error());
    const auto proposals = store::limitProposals(*open->reader, *choice, open->at);
    if (!proposals)
        return printFault(proposals.error());
    if (proposals->size() != 1)
        return printFault(
            base::fault(base::FaultKind::NotFound, "no control was run on these lots; check --strip-lot, --control-lot and --level"));
    const auto act = acceptanceOf(proposals->front(), open->at, options.reason);
    if (!act)
        return printFault(act.error());
    auto registrar = store::Registrar::open(*open->session, store::machineClock);
    if (!registrar)
        return printFault(registrar.error());
    const store::NewAct newAct { *act, {} };
    const auto outcomes = (*registrar)->record(std::span(&newAct, 1), open->author);
    if (!outcomes)
        return printFault(outcomes.error());
    if (!globals.json)
        return printText(LimitTexts::tr("Recorded as entry %1.").arg(outcomes->front().seq.value).toStdString() + "\n"
            + proposalInWords(proposals->front()) + "  "
            + LimitTexts::tr("now %1").arg(inForceSaid(std::get<acts::RangeAssigned>(newAct.act))).toStdString() + "\n");
    JsonWriter json;
    json.beginObject().key("format").value(1).key("seq").value(outcomes->front().seq.value).key("accepted");
    writeProposal(json, proposals->front());
    const auto& now = std::get<acts::RangeAssigned>(newAct.act);
    json.key("now_in_force").beginObject().key("mean").value(typedOf(now.mean)).key("sd").value(typedOf(now.sd));
    json.key("stage").value(word(now.stage.value_or(Stage::Range))).key("low").value(now.low.typed()).key("high").value(now.high.typed());
    json.endObject().endObject();
    return printText(json.text() + "\n");
}

} // namespace

void addLimitCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen)
{
    auto options = std::make_shared<LimitOptions>();
    auto* limits = app.add_subcommand("limits", "Mean and SD that the ward's own results propose")->fallthrough();
    limits->require_subcommand(1);
    auto* propose = limits->add_subcommand("propose", "What the results so far are enough for, beside what is in force")->fallthrough();
    auto* accept = limits
                       ->add_subcommand(
                           "accept", "The coordinator signs the proposal; it holds from now on and no verdict before it changes")
                       ->fallthrough();
    for (auto* command : { propose, accept }) {
        const bool needed = command == accept;
        command->add_option("--strip-lot", options->stripLot)->required(needed);
        command->add_option("--control-lot", options->controlLot)->required(needed);
        command->add_option("--level", options->level)->required(needed);
        command->add_option("--meter", options->meter, "For this one meter (default: for all on the lots)");
        command->add_flag(
            "--with-drifting", options->withDrifting, "Count meters too that have moved or stand apart (default: they are left out)");
        command->add_option("--leave-out", options->leftOut, "A result with a proven cause, ENTRY=CAUSE; may be given again");
    }
    accept->add_option("--reason", options->reason, "Why the limits change now")->required();
    addExample(*limits, "--registry ward5.mkr limits propose --strip-lot S2611");
    propose->callback([&globals, &chosen, options] { chosen = [&globals, options] { return runPropose(globals, *options); }; });
    accept->callback([&globals, &chosen, options] { chosen = [&globals, options] { return runAccept(globals, *options); }; });
}

} // namespace mk::cli
