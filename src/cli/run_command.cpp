// SPDX-License-Identifier: GPL-3.0-or-later
// `run add`: one set of controls, its verdict, and what the window would have asked.
#include "cli/board_output.h"
#include "cli/output.h"
#include "cli/record_commands.h"
#include "cli/registry_commands.h"
#include "registry/control/late_entry.h"
#include "words/faults.h"
#include "words/numbers.h"
#include "words/questions.h"
#include "words/terms.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>
#include <QStringList>

#include <algorithm>
#include <cstdio>

namespace mk::cli {

using namespace registry;
using base::Result;

namespace {

constexpr std::size_t kMostRuns = 20; // three levels, each with every attempt that any policy allows

struct RunOptions {
    std::string meter, stripVial, unit, set, reason, repeatOf, comment, code, id, question, answer, supervisor, deviation, lateReason, form;
    std::vector<std::string> runs;
};

/// LEVEL:CONTROL_VIAL=RESULT
Result<acts::ControlRun> readRun(const std::string& text)
{
    const base::Fault malformed = base::badInput("--run '%1' is not LEVEL:CONTROL_VIAL=RESULT, such as low:CL-418-3=47", text);
    const auto colon = text.find(':');
    const auto equals = text.rfind('=');
    if (colon == std::string::npos || equals == std::string::npos || equals < colon || equals == colon + 1)
        return malformed;
    acts::ControlRun run;
    const auto level = valueOf<Level>(text.substr(0, colon));
    if (!level)
        return malformed;
    auto result = parseReading(text.substr(equals + 1));
    if (!result)
        return base::fault(result.error().kind, "--run '%1': %2", text, result.error());
    run.level = *level;
    run.controlVial = base::ControlVialId(text.substr(colon + 1, equals - colon - 1));
    run.result = std::move(result).value();
    return run;
}

Result<base::GlucoseUnit> unitFor(store::Reader& reader, const RunOptions& options)
{
    if (!options.unit.empty()) {
        const auto unit = base::glucoseUnitNamed(options.unit);
        if (!unit)
            return base::badInput("--unit '%1' is not a unit; write mg/dL or mmol/L", options.unit);
        return *unit;
    }
    const auto meter = reader.meter(base::MeterId(options.meter));
    if (!meter)
        return meter.error();
    if (*meter == nullptr)
        return base::fault(base::FaultKind::NotFound, "no meter is called '%1'; check its label or see the board", options.meter);
    const auto model = reader.model((*meter)->act.model);
    if (!model)
        return model.error();
    if (*model == nullptr)
        return base::fault(base::FaultKind::NotFound, "the model of '%1' is not on record; give the unit with --unit", options.meter);
    return (*model)->act.unit;
}

/// The runs of one set from the options.
Result<std::vector<store::NewAct>> readSet(const RunOptions& options, const Globals& globals, OpenRegistry& open)
{
    if (options.runs.size() > kMostRuns)
        return base::badInput(
            "--run is given %1 times, and a set may have %2 runs; record one set after the other", options.runs.size(), kMostRuns);
    const auto unit = unitFor(*open.reader, options);
    if (!unit)
        return unit.error();
    const base::Moment at = open.at;
    const base::SetId set(options.set.empty() ? options.meter + "/" + base::toText(at) : options.set);
    std::vector<store::NewAct> acts;
    for (const auto& text : options.runs) {
        auto run = readRun(text);
        if (!run)
            return run.error();
        run->set = set;
        run->at = at;
        run->meter = base::MeterId(options.meter);
        run->by = base::OperatorId(globals.person);
        run->stripVial = base::StripVialId(options.stripVial);
        run->unit = *unit;
        run->reason = given(options.reason);
        run->repeatOf = given(options.repeatOf);
        run->comment = given(options.comment);
        run->codeShown = given(options.code);
        run->deviation = given(options.deviation);
        run->lateReason = given(options.lateReason);
        run->form = given(options.form);
        run->question = given(options.question);
        run->answer = given(options.answer);
        if (!options.supervisor.empty())
            run->supervisor = base::OperatorId(options.supervisor);
        acts.push_back(
            { Act(std::move(run).value()), options.id.empty() ? "" : options.id + "/" + std::to_string(acts.size() + 1), {}, true });
    }
    return acts;
}

/// Scripts enter old sets without a word of why: taken, marked, and said so once it is recorded. returns  whether it was filled in
bool fillLateReason(std::vector<store::NewAct>& acts, const OpenRegistry& open)
{
    const base::Moment now = open.reader->zone().at(store::machineClock());
    bool filled = false;
    for (auto& each : acts)
        if (auto& run = std::get<acts::ControlRun>(each.act); !mayEnterLate(run, now, open.reader->policyAt(now)))
            run.lateReason = kNoReasonGiven, filled = true;
    return filled;
}

struct RecordTexts {
    Q_DECLARE_TR_FUNCTIONS(Record)
};

void sayUnproven()
{
    const QString said = RecordTexts::tr(
        "This set is entered long after its time without a reason or its paper's number: it is marked, and does not "
        "count as done in time until the coordinator accepts it.");
    std::fprintf(stderr, "%s\n", said.toStdString().c_str());
}

QString runLine(const RunRecord& run)
{
    const auto& judged = run.judged;
    const QString level = words::level(run.run.level), result = words::text(toText(run.run.result)), unit = words::unit(run.run.unit);
    const QString verdict = judged.invalidBecause.empty()
        ? words::verdictInList(judged.verdict)
        : RecordTexts::tr("%1 (%2)").arg(words::verdictInList(judged.verdict), words::listed(judged.invalidBecause));
    if (!judged.low || !judged.high)
        return RecordTexts::tr("%1 %2 %3: %4").arg(level, result, unit, verdict);
    return RecordTexts::tr("%1 %2 %3, range %4 to %5: %6")
        .arg(level, result, unit, words::text(judged.low->typed()), words::text(judged.high->typed()), verdict);
}

std::string setInWords(const SetRecord& set)
{
    const QString id = words::text(set.judged.set.value), verdict = words::verdictInList(set.judged.verdict);
    QStringList lines { set.judged.rules.empty()
            ? RecordTexts::tr("Set %1 is %2.").arg(id, verdict)
            : RecordTexts::tr("Set %1 is %2 (%3).").arg(id, verdict, words::listed(set.judged.rules)) };
    for (const auto& run : set.runs)
        lines << QStringLiteral("  ") + runLine(run);
    return lines.join(QLatin1Char('\n')).toStdString() + "\n";
}

/// What others have begun on the same meter, each line once.
std::vector<std::string> toldBy(const std::vector<store::Outcome>& outcomes)
{
    std::vector<std::string> lines;
    for (const auto& outcome : outcomes)
        for (const auto& line : outcome.told)
            if (std::ranges::find(lines, line) == lines.end())
                lines.push_back(line);
    return lines;
}

/// What the window would have asked before saving. Here nobody answers: it is stored as written, and said. Who recorded it with a question
/// was asked already.
Result<std::vector<RunQuestion>> questionsOn(const std::vector<store::NewAct>& acts, Facts& facts)
{
    std::vector<RunQuestion> questions;
    for (const auto& act : acts) {
        const auto* run = std::get_if<acts::ControlRun>(&act.act);
        if (run == nullptr || run->question)
            continue;
        const auto ranges = rangesOf(facts, *run);
        if (!ranges)
            return ranges.error();
        std::ranges::move(questionsOf(*run, *ranges), std::back_inserter(questions));
    }
    return questions;
}

/// An attempt that the ladder allowed no more, as it was typed.
struct LeftOut {
    std::string run, text;
};
std::vector<LeftOut> leftOutOf(const RunOptions& options, const std::vector<store::Outcome>& outcomes)
{
    std::vector<LeftOut> left;
    for (std::size_t i = 0; i < outcomes.size(); ++i)
        if (outcomes[i].leftOut)
            left.push_back({ options.runs[i], mk::words::said(*outcomes[i].leftOut).toStdString() });
    return left;
}

/// The acts that are on record, and what became of them.
void keepRecorded(std::vector<store::NewAct>& acts, std::vector<store::Outcome>& outcomes)
{
    std::size_t at = 0;
    std::erase_if(acts, [&](const store::NewAct&) { return outcomes[at++].leftOut.has_value(); });
    std::erase_if(outcomes, [](const store::Outcome& each) { return each.leftOut.has_value(); });
}

int runAdd(const Globals& globals, const RunOptions& options)
{
    if (globals.person.empty())
        return printFault(noOperator());
    auto open = openForWriting(globals);
    if (!open)
        return printFault(open.error());
    auto acts = readSet(options, globals, *open);
    if (!acts)
        return printFault(acts.error());
    const bool unproven = fillLateReason(*acts, *open);
    auto registrar = store::Registrar::open(*open->session, store::machineClock);
    if (!registrar)
        return printFault(registrar.error());
    auto outcomes = (*registrar)->record(*acts, open->author);
    if (!outcomes)
        return printFault(outcomes.error());
    const auto leftOut = leftOutOf(options, *outcomes);
    keepRecorded(*acts, *outcomes);
    if (unproven)
        sayUnproven();

    auto reader = store::Reader::open(*open->session);
    if (!reader)
        return printFault(reader.error());
    const base::Moment at = globals.at ? open->at : reader->zone().at(store::machineClock());
    const auto row = store::boardRow(*reader, base::MeterId(options.meter), at);
    if (!row)
        return printFault(row.error());
    auto questions = questionsOn(*acts, *reader);
    if (!questions) { // what is recorded stays so: the verdict is owed, the questions are not
        printFault(questions.error());
        questions = std::vector<RunQuestion>();
    }
    const auto& set = outcomes->back().set;
    const bool judged = set.has_value();
    const bool holds = judged && isAccepted(set->judged.verdict) && leftOut.empty();
    if (!globals.json) {
        std::string others;
        for (const auto& line : toldBy(*outcomes))
            others += line + "\n";
        for (const auto& [run, text] : leftOut)
            others += RecordTexts::tr("Not recorded: %1: %2").arg(mk::words::text(run), QString::fromStdString(text)).toStdString() + "\n";
        for (const auto& question : *questions)
            others += RecordTexts::tr("Please look: %1").arg(mk::words::listed(question)).toStdString() + "\n";
        printText((judged ? setInWords(*set) : std::string()) + others + rowInWords(*row, reader->zone()));
        return holds ? kExitDone : kExitFinding;
    }
    JsonWriter json;
    json.beginObject()
        .key("format")
        .value(1)
        .key("set")
        .value(judged ? set->judged.set.value : std::get<acts::ControlRun>(acts->front().act).set.value)
        .key("seq")
        .value(outcomes->back().seq.value);
    json.key("verdict").value(judged ? std::optional(std::string(word(set->judged.verdict))) : std::nullopt);
    json.key("rules").array(judged ? set->judged.rules : std::vector<std::string>());
    json.key("state").value(word(row->fitness.state)).key("usable").value(row->fitness.usable).key("reasons");
    writeReasons(json, row->fitness);
    json.key("next");
    writeNext(json, row->fitness, reader->zone());
    json.key("told").array(toldBy(*outcomes)).key("questions").beginArray();
    for (const auto& question : *questions)
        json.beginObject().key("code").value(word(question.kind)).key("text").value(mk::words::listed(question).toStdString()).endObject();
    json.endArray();
    json.key("refused").beginArray();
    for (const auto& [run, text] : leftOut)
        json.beginObject().key("run").value(run).key("text").value(text).endObject();
    json.endArray();
    if (judged) {
        json.key("detail");
        writeSet(json, *set, reader->zone());
    }
    json.endObject();
    printText(json.text() + "\n");
    return holds ? kExitDone : kExitFinding;
}

} // namespace

void addRunCommand(CLI::App& app, const Globals& globals, std::function<int()>& chosen)
{
    auto options = std::make_shared<RunOptions>();
    auto* run = app.add_subcommand("run", "Control runs")->fallthrough();
    run->require_subcommand(1);
    auto* add = run->add_subcommand("add", "Records one set and prints its verdict")->fallthrough();
    add->add_option("--meter", options->meter, "The meter's id")->required();
    add->add_option("--strip-vial", options->stripVial, "The strip vial's id")->required();
    add->add_option("--run", options->runs, "LEVEL:CONTROL_VIAL=RESULT, once for each level; a result is a decimal, HI, LO or ERR:code")
        ->required()
        ->take_all();
    add->add_option("--unit", options->unit, "mg/dL or mmol/L as the meter shows it (default: the model's)");
    add->add_option("--set", options->set, "The set's id; an id that is known adds another attempt to that set (default: meter and time)");
    add->add_option("--reason", options->reason, "D1 to D14, why the control was run");
    add->add_option("--repeat-of", options->repeatOf, "The set that this one repeats");
    add->add_option("--comment", options->comment, "Free text; no patient data");
    add->add_option("--code-shown", options->code, "The code that the meter shows");
    add->add_option("--supervisor", options->supervisor, "The competent person who stood by while a trainee ran it");
    add->add_option("--question", options->question, "What was asked before it was recorded");
    add->add_option("--answer", options->answer, "What was answered");
    add->add_option("--deviation", options->deviation, "Why one more attempt is made on vials on which the level failed twice");
    add->add_option("--late-reason", options->lateReason, "Why it is recorded late");
    add->add_option("--form", options->form, "The number of the paper form that it stood on");
    add->add_option("--entry-id", options->id, "A UUID made by the sender, so that a repeated delivery is recognised");
    addExample(*add,
        "--registry ward5.mkr --operator n-arlen run add --meter M-11 --strip-vial S2611-09 --run low:CL-418-3=47 --run high:CH-419-2=291");
    add->callback([&globals, options, &chosen] { chosen = [&globals, options] { return runAdd(globals, *options); }; });
}

} // namespace mk::cli
