// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/registry_commands.h"

#include "cli/board_output.h"
#include "cli/copy_commands.h"
#include "cli/export_command.h"
#include "cli/history_command.h"
#include "cli/meter_command.h"
#include "cli/password.h"
#include "cli/policy_command.h"
#include "cli/registry_output.h"
#include "cli/review_command.h"
#include "cli/output.h"
#include "exchange/whole_file.h"
#include "exchange/policy_file.h"
#include "exchange/registry_csv.h"
#include "store/db/address.h"
#include "store/copies/backup.h"
#include "store/copies/verification.h"
#include "words/numbers.h"
#include "words/faults.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>
#include <QDir>
#include <QFile>
#include <QFileInfo>
#include <QTimeZone>

namespace mk::cli {

using namespace registry;
using base::Result;

namespace {

struct RegistryTexts {
    Q_DECLARE_TR_FUNCTIONS(Registry)
};

int runInit(const Globals& globals, const std::string& zone, const std::string& policyPath)
{
    std::vector<std::pair<std::string, std::string>> settings;
    if (!policyPath.empty()) {
        auto sound = soundPolicy(policyPath);
        if (!sound)
            return printFault(sound.error());
        settings = std::move(sound).value();
    }
    if (const auto known = Zone::named(zone); !known)
        return printFault(known.error());
    const auto place = store::Address::parse(globals.registry);
    if (!place)
        return printFault(place.error());
    if (!place->isServer())
        QDir().mkpath(QFileInfo(QString::fromStdString(globals.registry)).absolutePath());
    auto session = store::Session::create(globals.registry, passwordSource());
    if (!session)
        return printFault(session.error());
    const auto seq = store::found(**session, zone, settings, { base::OperatorId(globals.person), stationName() }, store::machineClock);
    if (!seq) {
        session->reset();
        if (!place->isServer())
            QFile::remove(QString::fromStdString(globals.registry)); // nothing but an empty schema is in it
        return printFault(seq.error());
    }
    if (globals.json)
        return printText(JsonWriter()
                             .beginObject()
                             .key("format")
                             .value(1)
                             .key("registry")
                             .value(globals.registry)
                             .key("seq")
                             .value(seq->value)
                             .endObject()
                             .text()
            + "\n");
    return printText(
        RegistryTexts::tr("Founded %1 in zone %2.").arg(words::text(globals.registry), words::text(zone)).toStdString() + "\n");
}

/// Is it a link to somewhere outside its folder? A folder from elsewhere must not make the program read what only its user may read.
bool leadsOut(const QFileInfo& file, const QFileInfo& folder)
{
    return file.isSymbolicLink() && !file.canonicalFilePath().startsWith(folder.canonicalFilePath() + QChar(u'/'));
}

/// The files that an import call names: a folder stands for the registry files in it.
Result<std::vector<std::string>> importPaths(const std::vector<std::string>& given, std::vector<std::string>& ignored)
{
    std::vector<std::string> paths;
    for (const auto& each : given) {
        const QFileInfo info(QString::fromStdString(each));
        if (!info.exists())
            return base::badInput("there is nothing at %1; name a folder or CSV files", each);
        // Pipes and dead links are listed too, so that none is passed over in silence.
        const QFileInfoList inside = info.isDir() ? QDir(info.filePath()).entryInfoList(QDir::Files | QDir::System, QDir::Name)
                                                  : QFileInfoList { info };
        for (const QFileInfo& file : inside) {
            const std::string name = file.fileName().toStdString();
            if (exchange::isRegistryFile(name) && !file.isFile())
                return base::badInput("%1 is no file; take it away, or put the file in its place", file.filePath().toStdString());
            if (exchange::isRegistryFile(name) && info.isDir() && leadsOut(file, info))
                return base::badInput("%1 is a link that leads out of the folder; name the file itself", file.filePath().toStdString());
            if (exchange::isRegistryFile(name))
                paths.push_back(file.filePath().toStdString());
            else if (info.isDir())
                ignored.push_back(name);
            else
                return base::badInput("%1 has not the name of a registry file; see the list in the README, such as control_runs.csv", each);
        }
    }
    return paths;
}

int runImport(const Globals& globals, const std::vector<std::string>& given)
{
    std::vector<std::string> ignored;
    const auto paths = importPaths(given, ignored);
    if (!paths)
        return printFault(paths.error());
    auto open = openForWriting(globals);
    if (!open)
        return printFault(open.error());
    std::vector<FileRows> files;
    for (const auto& path : *paths) {
        const auto bytes = readWholeFile(path, kMostTableBytes);
        if (!bytes)
            return printFault(bytes.error());
        const std::string name = QFileInfo(QString::fromStdString(path)).fileName().toStdString();
        if (std::ranges::find(files, name, &FileRows::file) != files.end())
            return printFault(base::badInput("%1 is named twice in one call; import one after the other", name));
        files.push_back(exchange::readRegistryFile(name, *bytes, open->reader->zone()));
    }
    auto registrar = store::Registrar::open(*open->session, store::machineClock);
    if (!registrar)
        return printFault(registrar.error());
    const auto report = (*registrar)->importFiles(std::move(files), open->author);
    if (!report)
        return printFault(report.error());
    if (globals.json) {
        JsonWriter json;
        writeImport(json, *report, ignored);
        printText(json.text() + "\n");
    } else {
        printText(importInWords(*report, ignored));
    }
    if (const auto rejected = firstRejected(*report))
        printFault(*rejected);
    return report->anyRejected() ? kExitBadInput : kExitDone;
}

/// The board of an open registry. fault  set where the file turns out to be damaged: nothing was printed then
int printBoard(const Globals& globals, const std::string& ward, OpenRegistry& open, std::optional<base::Fault>& damaged)
{
    if (const base::Done view = open.session->beginRead(); !view) // one view, while others write
        return printFault(view.error());
    const auto rows = store::board(*open.reader, ward.empty() ? std::nullopt : std::optional(base::WardId(ward)), open.at);
    const auto duties = rows ? store::wardDuties(*open.reader, *rows, open.at) : Result<store::WardDuties>(rows.error());
    if (!duties && duties.error().kind == base::FaultKind::Damaged) {
        damaged = duties.error();
        return kExitBadInput;
    }
    if (!duties)
        return printFault(duties.error());
    // Of the past or from another day's point of view, today's copies are not the question.
    const auto overdue = globals.at || globals.asOf ? std::nullopt : overdueCopyInWords(*open.reader, open.at);
    if (overdue)
        std::fprintf(stderr, "%s\n", overdue->c_str());
    if (const auto head = store::headOf(*open.session); head && head->moved && !globals.asOf) // or this board would be believed for ever
        std::fprintf(stderr, "%s\n", words::said(store::movedAway(*open.session, *head)).toStdString().c_str());
    if (!globals.json)
        return printText(boardTable(*rows, open.at, open.reader->zone()) + dutiesInWords(*duties));
    JsonWriter json;
    json.beginObject().key("format").value(1).key("at");
    writeMoment(json, open.at, open.reader->zone());
    json.key("meters").beginArray();
    for (const auto& row : *rows) {
        json.beginObject();
        writeRow(json, row, open.reader->zone());
        json.endObject();
    }
    json.endArray();
    writeDuties(json, *duties);
    if (overdue)
        json.key("copy_overdue").value(*overdue);
    json.endObject();
    return printText(json.text() + "\n");
}

int runBoard(const Globals& globals, const std::string& ward)
{
    std::optional<base::Fault> damaged;
    {
        auto open = openForReading(globals);
        if (open) {
            const int printed = printBoard(globals, ward, *open, damaged);
            if (!damaged)
                return printed;
        } else if (open.error().kind != base::FaultKind::Damaged) {
            return printFault(open.error());
        } else {
            damaged = open.error();
        }
    }
    return boardFromJournal(globals, *damaged, [&](OpenRegistry& open) {
        std::optional<base::Fault> again;
        const int printed = printBoard(globals, ward, open, again);
        return again ? printFault(*again) : printed;
    });
}

int runExportOf(const Globals& globals, const std::string& format, const std::string& out)
{
    auto open = openForReading(globals);
    if (!open)
        return printFault(open.error());
    if (const base::Done view = open->session->beginRead(); !view) // one view, while others write
        return printFault(view.error());
    return runExport(*open->reader, open->reader->zone().at(store::machineClock()), { format, out, globals.json });
}

int runHistoryOf(const Globals& globals, const std::string& key)
{
    auto open = openForReading(globals);
    return open ? runHistory(*open->reader, key, globals.json) : printFault(open.error());
}

/// Signs the month before it is printed.
base::Done signMonth(
    const Globals& globals, const std::string& month, const std::string& ward, const std::string& meaning, const std::string& remark)
{
    if (globals.person.empty())
        return base::fault(base::FaultKind::BadInput, "nobody is named; say who signs with --operator ID");
    auto open = openForSigning(globals);
    if (!open)
        return open.error();
    auto registrar = store::Registrar::open(*open->session, store::machineClock);
    if (!registrar)
        return registrar.error();
    acts::ReviewSigned review { open->at, base::OperatorId(globals.person), month };
    if (!ward.empty())
        review.ward = base::WardId(ward);
    review.meaning = meaning;
    if (!remark.empty())
        review.remark = remark;
    const store::NewAct act { Act(std::move(review)), {} };
    const auto signedNow = (*registrar)->record({ &act, 1 }, open->author);
    return signedNow ? base::Done() : base::Done(signedNow.error());
}

int runReviewOf(const Globals& globals, const std::string& month, const std::string& ward, const std::string& out)
{
    auto open = openForReading(globals);
    if (!open)
        return printFault(open.error());
    ReviewOptions options;
    options.month = month;
    options.ward = ward.empty() ? std::nullopt : std::optional(ward);
    options.out = out.empty() ? std::nullopt : std::optional(out);
    options.at = globals.at ? std::optional(open->at) : std::nullopt;
    options.asOf = globals.asOf ? std::optional(base::Seq { *globals.asOf }) : std::nullopt;
    options.json = globals.json;
    options.person = globals.person;
    return runReview(*open->session, options);
}

int runVerify(const Globals& globals, const std::string& printed)
{
    std::optional<std::string> head;
    if (!printed.empty()) {
        std::string digest;
        for (const char c : printed)
            if (c != ' ')
                digest += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
        if (digest.size() != 64 || digest.find_first_not_of("0123456789abcdef") != std::string::npos)
            return printFault(base::badInput("--head takes the 64 hexadecimal digits that a report prints, not '%1'", printed));
        head = digest;
    }
    if (const base::Done noted = noteReading(globals); !noted)
        return printFault(noted.error());
    auto session = store::Session::open(globals.registry, store::Session::Access::ReadOnly, passwordSource());
    if (!session)
        return printFault(session.error());
    const auto found = store::verify(**session, head);
    if (!found)
        return printFault(found.error());
    auto reader = store::Reader::open(**session);
    const auto copies = reader ? store::copyStanding(*reader, reader->zone().at(store::machineClock()))
                               : base::Result<store::CopyStanding>(reader.error());
    const auto* copy = copies && copies->newest ? &*copies->newest : nullptr;
    if (globals.json) {
        JsonWriter json;
        json.beginObject().key("format").value(1).key("entries").value(found->entries).key("head").value(found->head);
        json.key("chain").value(found->chainIntact ? "intact" : "broken").key("broken_at").value(found->brokenAt);
        json.key("index")
            .value(found->indexMatches ? "matches" : "differs")
            .key("differs_in")
            .array(found->differsIn)
            .key("unverified")
            .array(found->unverified)
            .key("passwords_missing")
            .array(found->passwordsMissing);
        json.key("checkpoints").beginArray().endArray();
        json.key("printed_head").value(!found->headKnown ? "not compared" : *found->headKnown ? "found" : "missing").key("newest_copy");
        if (copy != nullptr) {
            json.beginObject()
                .key("copy")
                .value(copy->act.copy)
                .key("at")
                .value(base::toText(copy->act.at))
                .key("entries")
                .value(copy->act.head.value);
            json.key("head").value(copy->act.digest).key("overdue").value(copies->overdue).endObject();
        } else {
            json.null();
        }
        json.endObject();
        printText(json.text() + "\n");
    } else {
        printText(verifiedInWords(*found, copy));
    }
    return found->holds() ? kExitDone : kExitFinding;
}

} // namespace

void addRegistryCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen)
{
    struct Options {
        std::string zone = QTimeZone::systemTimeZoneId().toStdString();
        std::string policy, ward, meter, from, to, head, month, out, sign, remark, format, key;
        std::vector<std::string> paths;
    };
    auto options = std::make_shared<Options>();

    auto* init = app.add_subcommand("init", "Founds an empty registry")->fallthrough();
    init->add_option("--zone", options->zone, "Time zone that gives times without offset their meaning, such as Europe/Vienna");
    init->add_option(
        "--policy", options->policy, "Policy document with the settings that differ from the default, such as those in the folder policy");
    addExample(*init, "--registry ward5.mkr init --zone Europe/Vienna");
    init->callback(
        [&globals, options, &chosen] { chosen = [&globals, options] { return runInit(globals, options->zone, options->policy); }; });

    auto* import = app.add_subcommand("import", "Takes over records from CSV files")->fallthrough();
    import->add_option("paths", options->paths, "A folder, or CSV files by their registry names")->required();
    addExample(*import, "--registry ward5.mkr import records/");
    import->callback([&globals, options, &chosen] { chosen = [&globals, options] { return runImport(globals, options->paths);
};
});

auto* board = app.add_subcommand("board", "May each meter be used?") -> fallthrough();
board->add_option("--ward", options->ward, "Only this ward");
addExample(*board, "--registry ward5.mkr board --ward W5 --at 2026-11-12T12:00");
board->callback([&globals, options, &chosen] { chosen = [&globals, options] { return runBoard(globals, options->ward); }; });

auto* meter = app.add_subcommand("meter", "One meter's whole file") -> fallthrough();
meter->add_option("meter", options->meter, "The meter's id, serial number or UDI")->required();
meter->add_option("--from", options->from, "Sets from this time or day on");
meter->add_option("--to", options->to, "Sets up to this time or day");
addExample(*meter, "--registry ward5.mkr meter M-07 --from 2026-10-01");
meter->callback([&globals, options, &chosen] {
    chosen = [&globals, options] { return runMeter(globals, options->meter, options->from, options->to); };
});

auto* review = app.add_subcommand("review", "The monthly review") -> fallthrough();
review->add_option("month", options->month, "The month, such as 2026-10")->required();
review->add_option("--ward", options->ward, "Only this ward");
review->add_option("--out", options->out, "Write the review as PDF to this file");
review->add_option("--sign", options->sign, "Sign the month, with what the signature means, such as reviewed");
review->add_option("--remark", options->remark, "What the signer adds; no patient data");
addExample(*review, "--registry ward5.mkr --operator rook review 2026-10 --ward W5 --sign reviewed --out review.pdf");
review->callback([&globals, options, &chosen] {
    chosen = [&globals, options] {
        if (!options->sign.empty())
            if (const base::Done done = signMonth(globals, options->month, options->ward, options->sign, options->remark); !done)
                return printFault(done.error());
        return runReviewOf(globals, options->month, options->ward, options->out);
    };
});

auto* exported = app.add_subcommand("export", "The registry's contents as open files, with a manifest") -> fallthrough();
exported->add_option("--format", options->format, "ndjson (the journal, every column), csv (the files that import reads), or all")
    ->required();
exported->add_option("--out", options->out, "A folder that is empty, or does not exist yet")->required();
addExample(*exported, "--registry ward5.mkr export --format all --out handover/");
exported->callback(
    [&globals, options, &chosen] { chosen = [&globals, options] { return runExportOf(globals, options->format, options->out); }; });

auto* history = app.add_subcommand("history", "Every version of a record: original, corrections, verdicts, annulment") -> fallthrough();
history->add_option("key", options->key, "A set's id, or the number of an entry")->required();
addExample(*history, "--registry ward5.mkr history 1204");
history->callback([&globals, options, &chosen] { chosen = [&globals, options] { return runHistoryOf(globals, options->key); }; });

auto* verify = app.add_subcommand("verify", "Recomputes the chain and rebuilds the index") -> fallthrough();
verify->add_option("--head", options->head, "Digest printed on an earlier report; must be in the chain");
addExample(*verify, "--registry ward5.mkr verify");
verify->callback([&globals, options, &chosen] { chosen = [&globals, options] { return runVerify(globals, options->head); }; });
}

} // namespace mk::cli
