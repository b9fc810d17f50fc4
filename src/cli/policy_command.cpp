// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/policy_command.h"

#include "cli/board_output.h"
#include "cli/policy_preview_output.h"
#include "cli/output.h"
#include "exchange/whole_file.h"
#include "exchange/policy_file.h"
#include "registry/policy/retention.h"
#include "registry/preview/ward_cost.h"
#include "words/policy.h"
#include "words/faults.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>

#include <algorithm>

namespace mk::cli {

using namespace registry;
using base::Result;

namespace {

struct PolicyTexts {
    Q_DECLARE_TR_FUNCTIONS(PolicyCommand)
};

using PolicyRecord = Record<acts::PolicyChanged>;

struct PolicyOptions {
    std::string file, from, reason, ward;
    std::int64_t version = 0;
    int months = 6;
};

Result<std::vector<exchange::PolicyLine>> readDocument(const std::string& path)
{
    const auto bytes = readWholeFile(path, kMostPolicyBytes);
    if (!bytes)
        return bytes.error();
    return exchange::readPolicyDocument(*bytes, path);
}

base::Fault faultAt(const std::string& path, const std::vector<exchange::PolicyLine>& lines, const PolicyFault& fault)
{
    return base::badInput("%1 line %2: %3", path, lines[fault.at].line, static_cast<const base::Fault&>(fault));
}

int runCheck(const Globals& globals, const std::string& path)
{
    const auto lines = readDocument(path);
    if (!lines)
        return printFault(lines.error());
    const auto faults = policyFaults(exchange::settingsOf(*lines));
    if (globals.json) {
        JsonWriter json;
        json.beginObject()
            .key("format")
            .value(1)
            .key("settings")
            .value(lines->size())
            .key("sound")
            .value(faults.empty())
            .key("faults")
            .beginArray();
        for (const auto& fault : faults)
            json.beginObject()
                .key("line")
                .value((*lines)[fault.at].line)
                .key("setting")
                .value((*lines)[fault.at].key)
                .key("text")
                .value(fault.text)
                .endObject();
        json.endArray().endObject();
        printText(json.text() + "\n");
    } else if (faults.empty()) {
        printText(PolicyTexts::tr("%1 is sound: %2 settings, the others keep their defaults.")
                      .arg(words::text(path), QString::number(lines->size()))
                      .toStdString()
            + "\n");
    }
    if (faults.empty())
        return kExitDone;
    if (!globals.json)
        for (std::size_t i = 1; i < faults.size(); ++i)
            printText(words::said(faultAt(path, *lines, faults[i])).toStdString() + "\n");
    return printFault(faultAt(path, *lines, faults.front()));
}

/// What a version says of a setting; one that it leaves out means what was so before there was that setting.
std::string textIn(const acts::PolicyChanged& policy, const std::string& key)
{
    const PolicyPairs complete = completePolicy(policy.settings);
    return std::ranges::find(complete, key, &PolicyPairs::value_type::first)->second;
}

struct Cost {
    CostWard ward;
    DriftCost cost;
};
/// What a policy costs this ward; nothing where its controls do not tell.
Result<std::optional<Cost>> costOf(store::Reader& reader, const Policy& policy, const std::optional<base::WardId>& ward, base::Moment at)
{
    auto shown = costWard(reader, policy, ward, at);
    if (!shown)
        return shown.error();
    auto cost = driftCost(policy, *shown);
    if (!cost || policy.driftMethod != DriftMethod::OwnUsual)
        return std::optional<Cost>();
    return std::optional(Cost { std::move(shown).value(), std::move(cost).value() });
}

void writeStep(JsonWriter& json, const char* key, const CostOfStep& step)
{
    json.key(key).beginObject().key("percent").value(step.percent).key("told_days").value(step.told);
    json.key("stopped_days").value(step.stopped).endObject();
}

/// Null where it cannot be told.
void writeCost(JsonWriter& json, const std::optional<Cost>& cost)
{
    json.key("drift_cost");
    if (!cost) {
        json.null();
        return;
    }
    json.beginObject().key("meters").value(cost->ward.meters).key("sets_a_month").value(cost->ward.setsAMonth);
    json.key("spread").value(cost->ward.spreadKnown ? std::optional(cost->ward.spread) : std::nullopt);
    json.key("false_tells_a_month").value(cost->cost.falseTells).key("false_stops_a_month").value(cost->cost.falseStops);
    writeStep(json, "half_limit", cost->cost.halfLimit);
    writeStep(json, "whole_limit", cost->cost.wholeLimit);
    json.endObject();
}

std::vector<std::string> costLines(const std::optional<Cost>& cost)
{
    std::vector<std::string> lines;
    if (cost)
        for (const QString& line : words::driftCostSaid(cost->ward, cost->cost))
            lines.push_back(line.toStdString());
    return lines;
}

/// The version that first said of a setting what `shown` says, without a break since.
const PolicyRecord& saidFirst(const std::vector<PolicyRecord>& versions, std::size_t shown, const PolicySetting& setting)
{
    const std::string text = textIn(versions[shown].act, setting.key);
    std::size_t first = shown;
    while (first > 0 && textIn(versions[first - 1].act, setting.key) == text)
        --first;
    return versions[first];
}

QString fromInWords(const acts::PolicyChanged& policy, const Zone& zone)
{
    return policy.from ? PolicyTexts::tr("since %1").arg(words::full(*policy.from, zone)) : PolicyTexts::tr("from the beginning");
}

void writeFrom(JsonWriter& json, const acts::PolicyChanged& policy, const Zone& zone)
{
    if (policy.from)
        writeMoment(json, *policy.from, zone);
    else
        json.null();
}

void writeVersion(JsonWriter& json, const PolicyRecord& version, const Zone& zone)
{
    json.key("version").value(version.act.version).key("from");
    writeFrom(json, version.act, zone);
    json.key("by")
        .value(version.act.by ? std::optional(version.act.by->value) : std::nullopt)
        .key("reason")
        .value(version.act.reason)
        .key("seq")
        .value(version.seq.value);
}

std::string policyAsJson(const std::vector<PolicyRecord>& versions, std::size_t shown, const Policy& policy, base::Moment at,
    const Zone& zone, const std::optional<Cost>& cost)
{
    JsonWriter json;
    json.beginObject().key("format").value(1);
    writeVersion(json, versions[shown], zone);
    json.key("in_force").value(versions[shown].act.version == policy.version).key("settings").beginArray();
    for (const auto& setting : defaultPolicySettings()) {
        const std::string text = textIn(versions[shown].act, setting.key);
        const auto& first = saidFirst(versions, shown, setting);
        json.beginObject()
            .key("setting")
            .value(setting.key)
            .key("value")
            .value(text)
            .key("default")
            .value(setting.text)
            .key("is_default")
            .value(text == setting.text);
        json.key("use")
            .value(word(setting.use))
            .key("source")
            .value(setting.source)
            .key("since_version")
            .value(first.act.version)
            .key("since");
        writeFrom(json, first.act, zone);
        json.endObject();
    }
    json.endArray().key("unknown").beginArray();
    for (const auto& [key, text] : unknownSettings(versions[shown].act.settings))
        json.beginObject().key("setting").value(key).key("value").value(text).endObject();
    json.endArray().key("kept_until").value(base::toText(retentionEnds(zone.dateOf(at), policy)));
    writeCost(json, cost);
    json.key("versions").beginArray();
    for (const auto& version : versions) {
        json.beginObject();
        writeVersion(json, version, zone);
        json.endObject();
    }
    json.endArray().endObject();
    return json.text() + "\n";
}

/// Who put a version into force, and why.
QString versionInWords(const acts::PolicyChanged& policy, const Zone& zone)
{
    const QString version = QString::number(policy.version), from = fromInWords(policy, zone);
    const QString by = policy.by ? words::text(policy.by->value) : QString(), reason = words::text(policy.reason.value_or(""));
    if (!policy.by)
        return policy.reason ? PolicyTexts::tr("Policy version %1, %2, founded with the registry: %3.").arg(version, from, reason)
                             : PolicyTexts::tr("Policy version %1, %2, founded with the registry.").arg(version, from);
    return policy.reason ? PolicyTexts::tr("Policy version %1, %2, adopted by %3: %4.").arg(version, from, by, reason)
                         : PolicyTexts::tr("Policy version %1, %2, adopted by %3.").arg(version, from, by);
}

/// Where a setting's value comes from.
QString settingInWords(const PolicySetting& setting, const std::string& value, const QString& from)
{
    const QString source = words::term(setting.source);
    return value == setting.text ? PolicyTexts::tr("default: %1; %2").arg(source, from)
                                 : PolicyTexts::tr("own choice; the default is %1 (%2); %3").arg(words::text(setting.text), source, from);
}

/// A document again: what is printed can be changed and adopted.
std::string policyAsText(const std::vector<PolicyRecord>& versions, std::size_t shown, const Policy& policy, base::Moment at,
    const Zone& zone, const std::optional<Cost>& cost)
{
    const PolicyRecord& version = versions[shown];
    std::string text;
    for (const QString& line : { versionInWords(version.act, zone),
             version.act.version == policy.version ? PolicyTexts::tr("It is in force.")
                                                   : PolicyTexts::tr("Version %1 is in force.").arg(policy.version),
             PolicyTexts::tr("The maker's insert and licensed staff outrank every line of it."),
             words::keptUntil(retentionEnds(zone.dateOf(at), policy)) })
        text += "# " + line.toStdString() + "\n";
    for (const auto& line : costLines(cost))
        text += "# " + line + "\n";
    for (const auto& setting : defaultPolicySettings()) {
        const std::string value = textIn(version.act, setting.key);
        const auto& first = saidFirst(versions, shown, setting);
        text += "\n# " + settingInWords(setting, value, fromInWords(first.act, zone)).toStdString() + "\n" + setting.key + " = " + value
            + "\n";
    }
    for (const auto& [key, value] : unknownSettings(version.act.settings))
        text += "\n# " + words::unknownSetting(key, value).toStdString() + "\n";
    return text;
}

int runShow(const Globals& globals, std::int64_t wanted)
{
    auto open = openForReading(globals);
    if (!open)
        return printFault(open.error());
    const auto versions = open->reader->facts<acts::PolicyChanged>();
    if (!versions)
        return printFault(versions.error());
    const Policy& policy = open->reader->policyAt(open->at);
    const std::int64_t version = wanted > 0 ? wanted : policy.version;
    const auto found = std::ranges::find(*versions, version, [](const PolicyRecord& r) { return r.act.version; });
    if (found == versions->end())
        return printFault(base::fault(base::FaultKind::NotFound, "the policy has no version %1; the newest is %2", version,
            versions->empty() ? 0 : versions->back().act.version));
    const auto shown = static_cast<std::size_t>(found - versions->begin());
    const auto asked = policyOnRecord(found->act.settings);
    if (!asked)
        return printFault(asked.error());
    const auto cost = costOf(*open->reader, *asked, std::nullopt, open->at);
    if (!cost)
        return printFault(cost.error());
    return printText(globals.json ? policyAsJson(*versions, shown, policy, open->at, open->reader->zone(), *cost)
                                  : policyAsText(*versions, shown, policy, open->at, open->reader->zone(), *cost));
}

/// A bare day means its beginning; today means the next full minute, since a policy never holds for the past.
Result<base::Moment> effectiveFrom(const std::string& text, const Zone& zone)
{
    auto from = TextForm<base::Moment>::read(text, { &zone, nullptr });
    if (!from)
        return base::fault(from.error().kind, "--from: %1", from.error());
    const std::int64_t now = store::machineClock();
    const bool today = text.size() == 10 && zone.dateOf(*from) == zone.dateOf(zone.at(now));
    return today ? zone.at((now / 60'000 + 1) * 60'000) : *from;
}

int runAdopt(const Globals& globals, const PolicyOptions& options)
{
    if (globals.person.empty())
        return printFault(base::fault(base::FaultKind::BadInput, "nobody is named; say who adopts the policy with --operator ID"));
    const auto settings = soundPolicy(options.file);
    if (!settings)
        return printFault(settings.error());
    auto open = openForWriting(globals);
    if (!open)
        return printFault(open.error());
    const Zone& zone = open->reader->zone();
    const auto from = effectiveFrom(options.from, zone);
    if (!from)
        return printFault(from.error());
    const auto versions = open->reader->facts<acts::PolicyChanged>();
    if (!versions || versions->empty())
        return printFault(versions ? base::fault(base::FaultKind::Damaged, "the registry has no policy; run verify") : versions.error());
    acts::PolicyChanged next { open->reader->newestPolicyVersion() + 1, *from, *settings, base::OperatorId(globals.person), {} };
    if (!options.reason.empty())
        next.reason = options.reason;
    auto registrar = store::Registrar::open(*open->session, store::machineClock);
    if (!registrar)
        return printFault(registrar.error());
    const store::NewAct act { next, {} };
    const auto outcome = (*registrar)->record({ &act, 1 }, open->author);
    if (!outcome)
        return printFault(outcome.error());
    JsonWriter json;
    json.beginObject().key("format").value(1).key("seq").value(outcome->front().seq.value).key("version").value(next.version).key("from");
    writeMoment(json, *from, zone);
    json.key("changes").beginArray();
    std::string text = PolicyTexts::tr("Policy version %1 holds from %2. What was judged before stays as it is.")
                           .arg(QString::number(next.version), words::full(*from, zone))
                           .toStdString()
        + "\n";
    for (const auto& setting : defaultPolicySettings()) {
        const std::string before = textIn(versions->back().act, setting.key), after = textIn(next, setting.key);
        if (before == after)
            continue;
        text += "  " + setting.key + ": " + before + " -> " + after + "\n";
        json.beginObject().key("setting").value(setting.key).key("before").value(before).key("after").value(after).endObject();
    }
    json.endArray().endObject();
    return printText(globals.json ? json.text() + "\n" : text);
}

int runPreview(const Globals& globals, const PolicyOptions& options)
{
    const auto settings = soundPolicy(options.file);
    if (!settings)
        return printFault(settings.error());
    auto candidate = policyFrom(*settings);
    if (!candidate)
        return printFault(candidate.error());
    auto open = openForReading(globals);
    if (!open)
        return printFault(open.error());
    if (const base::Done view = open->session->beginRead(); !view)
        return printFault(view.error());
    const Zone& zone = open->reader->zone();
    const base::Date today = zone.dateOf(open->at);
    const PreviewPeriod period { base::addDays(base::addMonths(today, -options.months), 1), today, open->at };
    const auto ward = options.ward.empty() ? std::nullopt : std::optional(base::WardId(options.ward));
    const auto previews = store::previewOf(*open->reader, *candidate, period, ward);
    const auto cost = previews ? costOf(*open->reader, *candidate, ward, open->at) : Result<std::optional<Cost>>(previews.error());
    if (!cost)
        return printFault(cost.error());
    if (globals.json)
        return printText(previewAsJson(*previews, period, candidate->profile, [&](JsonWriter& json) { writeCost(json, *cost); }));
    std::string text = previewInWords(*previews, period, candidate->profile);
    for (const auto& line : costLines(*cost))
        text += line + "\n";
    return printText(text);
}

} // namespace

Result<PolicyPairs> soundPolicy(const std::string& path)
{
    const auto lines = readDocument(path);
    if (!lines)
        return lines.error();
    const PolicyPairs settings = exchange::settingsOf(*lines);
    if (const auto faults = policyFaults(settings); !faults.empty()) {
        const base::Fault first = faultAt(path, *lines, faults.front());
        return faults.size() == 1 ? first : base::badInput("%1 (and %2 more; policy check lists them)", first, faults.size() - 1);
    }
    return completePolicy(settings);
}

void addPolicyCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen)
{
    auto options = std::make_shared<PolicyOptions>();
    auto* policy = app.add_subcommand("policy", "What the ward has decided: show, check, adopt, preview")->fallthrough();
    policy->require_subcommand(1);

    auto* show = policy
                     ->add_subcommand(
                         "show", "Every setting, where its default comes from, since when it holds; can be changed and adopted")
                     ->fallthrough();
    between(show->add_option("--version", options->version, "Another version than the one in force"), 1, 1'000'000);
    addExample(*show, "--registry ward5.mkr policy show > ward5.policy");
    whenChosen(*show, chosen, [&globals, options] { return runShow(globals, options->version); });

    auto* check = policy->add_subcommand("check", "Is a document sound? Lists what is wrong, with its lines")->fallthrough();
    check->add_option("file", options->file, "The document")->required();
    addExample(*check, "policy check ward5.policy");
    whenChosen(*check, chosen, [&globals, options] { return runCheck(globals, options->file); });

    auto* adopt = policy->add_subcommand("adopt", "A coordinator puts a document into force; it never holds for the past")->fallthrough();
    adopt->add_option("file", options->file, "The document; what it does not name takes its default")->required();
    adopt->add_option("--from", options->from, "The day or time from which it holds")->required();
    adopt->add_option("--reason", options->reason, "Why");
    addExample(*adopt, "--registry ward5.mkr --operator rook policy adopt ward5.policy --from 2026-12-01 --reason \"shift controls\"");
    whenChosen(*adopt, chosen, [&globals, options] { return runAdopt(globals, *options); });

    auto* preview = policy
                        ->add_subcommand(
                            "preview", "With this document, which meters would have been stopped in the months behind, on which days?")
                        ->fallthrough();
    preview->add_option("file", options->file, "The document")->required();
    between(preview->add_option("--months", options->months, "How many months back"), 1, 60);
    preview->add_option("--ward", options->ward, "Only this ward");
    addExample(*preview, "--registry ward5.mkr policy preview db/policy/laboratory-grade.policy --months 6");
    whenChosen(*preview, chosen, [&globals, options] { return runPreview(globals, *options); });
}

} // namespace mk::cli
