// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/copy_commands.h"

#include "cli/board_output.h"
#include "cli/output.h"
#include "cli/password.h"
#include "cli/signed_author.h"
#include "registry/policy/retention.h"
#include "store/copies/backup.h"
#include "store/copies/moving.h"
#include "store/copies/restore.h"
#include "words/faults.h"
#include "words/numbers.h"
#include "words/policy.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>
#include <QTemporaryDir>

#include <cstdio>

namespace mk::cli {

using base::FaultKind;

namespace {

struct CopyTexts {
    Q_DECLARE_TR_FUNCTIONS(Copies)
};

store::Author authorOf(const Globals& globals)
{
    return { base::OperatorId(globals.person), stationName() };
}

std::string secretsInWords(std::int64_t left)
{
    if (left == 0)
        return {};
    const QString said = left == 1
        ? CopyTexts::tr("Passwords do not go along (1 person has one): a coordinator sets sign-in up anew there with secret set.")
        : CopyTexts::tr("Passwords do not go along (%1 people have one): a coordinator sets sign-in up anew there with secret set.")
              .arg(left);
    return said.toStdString() + "\n";
}

void sayAside(const QString& line)
{
    std::fprintf(stderr, "%s\n", line.toStdString().c_str());
}

/// A check that did not hold is a finding; everything else is bad input.
int printRefusal(const base::Fault& fault)
{
    const int printed = printFault(fault);
    return fault.kind == FaultKind::Damaged || fault.kind == FaultKind::Refused ? kExitFinding : printed;
}

/// Until when what is recorded today is kept; none where the registry cannot be asked, and the copy holds all the same.
std::optional<base::Date> keptUntil(store::Session& session)
{
    const auto reader = store::Reader::open(session);
    if (!reader)
        return std::nullopt;
    const base::Moment now = reader->zone().at(store::machineClock());
    return retentionEnds(reader->zone().dateOf(now), reader->policyAt(now));
}

int runBackup(const Globals& globals, const std::string& to, std::optional<int> keep)
{
    auto session = store::Session::open(globals.registry, store::Session::Access::ReadWrite, passwordSource());
    if (!session && session.error().kind == FaultKind::ReadOnly)
        session = store::Session::open(globals.registry, store::Session::Access::ReadOnly, passwordSource());
    if (!session)
        return printFault(session.error());
    const auto made = store::backUp(**session, { to, keep, authorOf(globals) });
    if (!made)
        return printRefusal(made.error());
    for (const auto& file : made->notReadable)
        sayAside(CopyTexts::tr("%1 has the name of a copy and cannot be read as one; look at it, and take it away").arg(words::text(file)));
    if (!made->noted)
        sayAside(CopyTexts::tr("the copy holds, but is not noted in the registry: %1").arg(words::text(made->notNotedBecause)));
    const auto until = keptUntil(**session);
    if (globals.json) {
        JsonWriter json;
        json.beginObject()
            .key("format")
            .value(1)
            .key("copy")
            .value(made->copy)
            .key("entries")
            .value(made->head.seq.value)
            .key("head")
            .value(made->head.digest);
        json.key("chain").value("intact").key("index").value("matches");
        json.key("seq").value(made->noted ? std::optional(made->noted->value) : std::nullopt);
        json.key("removed")
            .array(made->removed)
            .key("not_readable")
            .array(made->notReadable)
            .key("passwords_left")
            .value(made->secretsLeft)
            .key("kept_until")
            .value(until ? std::optional(base::toText(*until)) : std::nullopt)
            .endObject();
        return printText(json.text() + "\n");
    }
    const std::int64_t held = made->head.seq.value;
    const QString copy = words::text(made->copy);
    QStringList lines { held == 1
            ? CopyTexts::tr("%1: 1 entry, read back, chain intact, index matches.").arg(copy)
            : CopyTexts::tr("%1: %2 entries, read back, chain intact, index matches.").arg(copy, QString::number(held)),
        CopyTexts::tr("Head %1").arg(words::text(made->head.digest)) };
    for (const auto& file : made->removed)
        lines << CopyTexts::tr("Removed the older copy %1.").arg(words::text(file));
    if (until)
        lines << words::keptUntil(*until);
    return printText(lines.join(QLatin1Char('\n')).toStdString() + "\n" + secretsInWords(made->secretsLeft));
}

void writeRestored(JsonWriter& json, const Globals& globals, const std::string& copy, const store::Restored& restored)
{
    json.beginObject()
        .key("format")
        .value(1)
        .key("restored")
        .value(restored.done)
        .key("registry")
        .value(globals.registry)
        .key("copy")
        .value(copy);
    json.key("entries").value(restored.copy.seq.value).key("head").value(restored.copy.digest);
    json.key("seq").value(restored.done ? std::optional(restored.head.seq.value) : std::nullopt);
    json.key("replaced");
    if (const auto& there = restored.replaced) {
        json.beginObject().key("readable").value(there->head.has_value());
        json.key("entries").value(there->head ? std::optional(there->head->seq.value) : std::nullopt);
        json.key("head").value(there->head ? std::optional(there->head->digest) : std::nullopt);
        json.key("common").value(there->common).key("lost").value(there->head ? std::optional(there->lost) : std::nullopt);
        json.key("other_registry")
            .value(there->otherRegistry)
            .key("kept_as")
            .value(restored.keptAs.empty() ? std::nullopt : std::optional(restored.keptAs))
            .endObject();
    } else {
        json.null();
    }
    json.key("refused_because")
        .value(restored.done ? std::nullopt : std::optional(restored.refused->text))
        .key("passwords_left")
        .value(restored.secretsLeft)
        .endObject();
}

std::string restoredInWords(const std::string& registry, const std::string& copy, const store::Restored& restored)
{
    const QString place = words::text(registry), from = words::text(copy), said = QString::number(restored.head.seq.value);
    const std::int64_t held = restored.copy.seq.value;
    QStringList lines { held == 1
            ? CopyTexts::tr("%1 is restored from %2: 1 entry, chain intact, index matches. Entry %3 says so.").arg(place, from, said)
            : CopyTexts::tr("%1 is restored from %2: %4 entries, chain intact, index matches. Entry %3 says so.")
                  .arg(place, from, said, QString::number(held)),
        CopyTexts::tr("Head %1").arg(words::text(restored.head.digest)) };
    if (restored.replaced)
        lines << CopyTexts::tr("Before: %1. What was replaced lies in %2.")
                     .arg(words::said(restored.replaced->told), words::text(restored.keptAs));
    lines << CopyTexts::tr(
        "What happened since the copy was made is not in it: enter it from the paper forms, and run the controls that are due.");
    return lines.join(QLatin1Char('\n')).toStdString() + "\n";
}

int runRestore(const Globals& globals, const std::string& copy, bool replace)
{
    const auto restored = store::restore(
        { .copy = copy, .place = globals.registry, .replace = replace, .author = authorOf(globals), .password = passwordSource() });
    if (!restored)
        return printRefusal(restored.error());
    if (globals.json) {
        JsonWriter json;
        writeRestored(json, globals, copy, *restored);
        printText(json.text() + "\n");
    }
    if (!restored->done) {
        printFault(*restored->refused);
        return kExitFinding;
    }
    if (globals.json)
        return kExitDone;
    return printText(restoredInWords(globals.registry, copy, *restored) + secretsInWords(restored->secretsLeft));
}

QString carriedSaid(const store::Moved& moved)
{
    const QString place = words::text(moved.place), entries = QString::number(moved.head.seq.value);
    if (moved.head.seq.value == 1)
        return (moved.wasThere ? CopyTexts::tr("1 entry was in %1, both proven to the same head.")
                               : CopyTexts::tr("1 entry copied to %1, both proven to the same head."))
            .arg(place);
    return (moved.wasThere ? CopyTexts::tr("%1 entries were in %2, both proven to the same head.")
                           : CopyTexts::tr("%1 entries copied to %2, both proven to the same head."))
        .arg(entries, place);
}

std::string movedInWords(const store::Moved& moved, const std::string& to)
{
    const QStringList lines { carriedSaid(moved), CopyTexts::tr("Head %1").arg(words::text(moved.head.digest)),
        moved.closed ? CopyTexts::tr("The registry here is closed by entry %1: from now on record there, with --registry %2")
                           .arg(QString::number(moved.closed->value), words::text(to))
                     : CopyTexts::tr("Two registries exist now: the one here goes on, the other is for trying out. What is recorded in "
                                     "one is not in the other.") };
    return lines.join(QLatin1Char('\n')).toStdString() + "\n";
}

int runMove(const Globals& globals, const std::string& to, bool keep)
{
    auto session = store::Session::open(
        globals.registry, keep ? store::Session::Access::ReadOnly : store::Session::Access::ReadWrite, passwordSource());
    if (!session)
        return printFault(session.error());
    // What closes a registry is a decision like a signature.
    const auto author = keep ? base::Result<store::Author>(authorOf(globals)) : signedAuthor(**session, globals, Asked::ToSign);
    if (!author)
        return printFault(author.error());
    const auto moved = store::moveRegistry(**session, { .to = to, .keep = keep, .author = *author, .password = passwordSource() });
    if (!moved)
        return printRefusal(moved.error());
    if (globals.json) {
        JsonWriter json;
        json.beginObject()
            .key("format")
            .value(1)
            .key("registry")
            .value(to)
            .key("entries")
            .value(moved->head.seq.value)
            .key("head")
            .value(moved->head.digest);
        json.key("closed")
            .value(!keep)
            .key("seq")
            .value(moved->closed ? std::optional(moved->closed->value) : std::nullopt)
            .key("passwords_left")
            .value(moved->secretsLeft)
            .endObject();
        return printText(json.text() + "\n");
    }
    return printText(movedInWords(*moved, to) + secretsInWords(moved->secretsLeft));
}

} // namespace

std::optional<std::string> overdueCopyInWords(store::Reader& reader, base::Moment now)
{
    const auto standing = store::copyStanding(reader, now);
    if (!standing || !standing->overdue)
        return std::nullopt;
    const bool daily = standing->days == 1;
    if (!standing->newest)
        return (daily ? CopyTexts::tr("no checked copy of this registry was ever made; the policy asks for one every day: run backup")
                      : CopyTexts::tr("no checked copy of this registry was ever made; the policy asks for one every %1 days: run backup")
                            .arg(standing->days))
            .toStdString();
    const QString at = words::text(base::toText(standing->newest->act.at).substr(0, 16)), copy = words::text(standing->newest->act.copy);
    return (daily ? CopyTexts::tr("the newest checked copy is of %1 (%2); the policy asks for one every day: run backup").arg(at, copy)
                  : CopyTexts::tr("the newest checked copy is of %1 (%2); the policy asks for one every %3 days: run backup")
                        .arg(at, copy, QString::number(standing->days)))
        .toStdString();
}

int boardFromJournal(const Globals& globals, const base::Fault& fault, const std::function<int(OpenRegistry&)>& print)
{
    const base::Fault whole = base::fault(fault.kind, "%1. Nothing can be recorded; take the paper form, restore the newest copy", fault);
    auto damaged = store::Session::open(globals.registry, store::Session::Access::ReadOnly, passwordSource());
    if (!damaged || (*damaged)->isServer() || globals.asOf)
        return printFault(whole);
    const QTemporaryDir folder;
    auto made = store::Session::create(folder.filePath(QStringLiteral("from-journal.mkr")).toStdString());
    if (!made)
        return printFault(whole);
    if (const auto copied = store::copyInto(**made, store::entriesOf(**damaged)); !copied)
        return printFault(base::fault(FaultKind::Damaged,
            "%1 is damaged, and its journal cannot be read to its end (%2): no meter can be said to be usable. Take the paper form, and restore the newest copy",
            globals.registry, copied.error()));
    auto reader = store::Reader::open(**made);
    if (!reader)
        return printFault(whole);
    const auto at = momentOf(globals, reader->zone());
    if (!at)
        return printFault(at.error());
    OpenRegistry open { std::move(made).value(), std::move(reader).value(), *at };
    const int printed = print(open);
    sayAside(CopyTexts::tr("%1 is damaged: this board was made from its journal, which is whole. Nothing can be recorded there; take the "
                           "paper form, and restore the newest copy")
                 .arg(words::text(globals.registry)));
    return printedStatus(printed, true);
}

void addCopyCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen)
{
    struct Options {
        std::string to, copy, address;
        int keep = 0;
        bool replace = false, stays = false;
    };
    auto options = std::make_shared<Options>();

    auto* backup = app.add_subcommand("backup", "A copy while others write, read back and proven")->fallthrough();
    backup->add_option("to", options->to, "A file that is not there yet, or a folder: then the copy is named by day and entry")->required();
    auto* keep = between(backup->add_option("--keep", options->keep,
                             "In a folder: how many copies of this registry stay; the oldest others go once the new one is proven"),
        1, 100'000);
    addExample(*backup, "--registry ward5.mkr backup /srv/copies --keep 30");
    whenChosen(*backup, chosen, [&globals, options, keep] {
        return runBackup(globals, options->to, keep->count() > 0 ? std::optional(options->keep) : std::nullopt);
    });

    auto* restore = app.add_subcommand("restore", "Brings a copy back, after its chain and index were proven")->fallthrough();
    restore->add_option("copy", options->copy, "A copy that backup made, or an export of the journal (journal.ndjson or its folder)")
        ->required();
    restore->add_flag("--replace", options->replace, "Also where a registry is; it is kept beside under a name with the time");
    addExample(*restore, "--registry ward5.mkr restore /srv/copies/meterkeep-1f3a9c2e-2026-11-26-0200-entry-5120.mkr");
    whenChosen(*restore, chosen, [&globals, options] { return runRestore(globals, options->copy, options->replace); });

    auto* move = app.add_subcommand("move", "Moves the registry to a server, or back into a file, and closes the one here")->fallthrough();
    move->add_option("address", options->address, "A path where nothing is, or postgresql://user@host/database of an empty database")
        ->required();
    move->add_flag("--keep", options->stays, "Only copy it, for a trial: the registry here goes on");
    addExample(*move, "--registry ward5.mkr move postgresql://keeper@db.hospital.example/ward5");
    whenChosen(*move, chosen, [&globals, options] { return runMove(globals, options->address, options->stays); });
}

} // namespace mk::cli
