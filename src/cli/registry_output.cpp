// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/registry_output.h"

#include "cli/output.h"
#include "words/faults.h"
#include "words/numbers.h"
#include "words/questions.h"

#include <QCoreApplication>

namespace mk::cli {

using namespace registry;

namespace {

struct FoundTexts {
    Q_DECLARE_TR_FUNCTIONS(Registry)
};

/// What somebody should look at in a file, by line.
struct ListedQuestion {
    std::size_t line;
    std::string code, text;
};

std::vector<ListedQuestion> questionsIn(const store::FileReport& file)
{
    std::vector<ListedQuestion> listed;
    for (const auto& [line, text] : file.questions)
        listed.push_back({ line, "time-twice", text });
    for (const auto& [line, question] : file.asked)
        listed.push_back({ line, std::string(word(question.kind)), mk::words::listed(question).toStdString() });
    std::ranges::stable_sort(listed, {}, &ListedQuestion::line);
    return listed;
}

QString fileImported(const store::FileReport& file)
{
    const QString name = words::text(file.file), rows = QString::number(file.rows), added = QString::number(file.added),
                  unchanged = QString::number(file.unchanged);
    return file.rejected.empty() ? FoundTexts::tr("%1: %2 rows, %3 added, %4 unchanged.").arg(name, rows, added, unchanged)
                                 : FoundTexts::tr("%1: %2 rows, %3 added, %4 unchanged, %5 rejected: nothing of this file was taken over.")
                                       .arg(name, rows, added, unchanged, QString::number(file.rejected.size()));
}

QString chainSaid(const store::Verification& found)
{
    if (found.chainIntact)
        return FoundTexts::tr("The chain is intact.");
    return FoundTexts::tr("The chain is broken at entry %1: %2.")
        .arg(QString::number(*found.brokenAt), words::said(store::fault(*found.brokenHow)));
}

QString printedHeadSaid(const std::optional<bool>& known)
{
    return !known ? FoundTexts::tr("No printed digest was compared: give one from an earlier report with --head.")
        : *known  ? FoundTexts::tr("The printed digest is in the chain.")
                  : FoundTexts::tr("The printed digest is not in the chain: this file is older than that report, or was rewritten.");
}

QString copySaid(const Record<acts::BackupMade>* copy)
{
    if (copy == nullptr)
        return FoundTexts::tr("No checked copy of this registry was ever made: run backup.");
    return FoundTexts::tr("The newest checked copy is of %1 (%2, to entry %3).")
        .arg(words::text(base::toText(copy->act.at).substr(0, 16)), words::text(copy->act.copy), QString::number(copy->act.head.value));
}

} // namespace

void writeImport(JsonWriter& json, const store::ImportReport& report, const std::vector<std::string>& ignored)
{
    json.beginObject().key("format").value(1).key("files").beginArray();
    for (const auto& file : report.files) {
        json.beginObject()
            .key("file")
            .value(file.file)
            .key("rows")
            .value(file.rows)
            .key("added")
            .value(file.added)
            .key("unchanged")
            .value(file.unchanged);
        json.key("rejected").beginArray();
        for (const auto& row : file.rejected)
            json.beginObject().key("line").value(row.line).key("reason").value(words::said(row.fault).toStdString()).endObject();
        json.endArray().key("questions").beginArray();
        for (const auto& [line, code, text] : questionsIn(file))
            json.beginObject().key("line").value(line).key("code").value(code).key("text").value(text).endObject();
        json.endArray().key("ignored_columns").array(file.ignoredColumns).endObject();
    }
    json.endArray().key("ignored_files").array(ignored).key("seq").value(report.seq.value).endObject();
}

std::string importInWords(const store::ImportReport& report, const std::vector<std::string>& ignored)
{
    const QString indent = QStringLiteral("  ");
    QStringList lines;
    for (const auto& file : report.files) {
        lines << fileImported(file);
        for (const auto& row : file.rejected)
            lines << indent + FoundTexts::tr("line %1: %2").arg(QString::number(row.line), words::said(row.fault));
        for (const auto& each : questionsIn(file))
            lines << indent + FoundTexts::tr("line %1: please look: %2").arg(QString::number(each.line), words::text(each.text));
        if (!file.ignoredColumns.empty())
            lines << indent + FoundTexts::tr("columns that are not read: %1").arg(words::listed(file.ignoredColumns));
    }
    if (!ignored.empty())
        lines << FoundTexts::tr("Not read, their names are none of a registry's: %1").arg(words::listed(ignored));
    lines << FoundTexts::tr("The journal stands at entry %1.").arg(report.seq.value);
    return lines.join(QLatin1Char('\n')).toStdString() + "\n";
}

std::optional<base::Fault> firstRejected(const store::ImportReport& report)
{
    std::optional<base::Fault> first;
    std::size_t more = 0;
    for (const auto& file : report.files)
        for (const auto& row : file.rejected) {
            if (first)
                ++more;
            else
                first = row.namesFile ? row.fault : base::badInput("%1 line %2: %3", file.file, row.line, row.fault);
        }
    if (first && more > 0)
        return base::badInput("%1 (and %2 more rejected rows, listed in the report)", *first, more);
    return first;
}

namespace {

/// Where the index differs from the journal.
QString indexSaid(const store::Verification& found)
{
    if (found.indexMatches)
        return FoundTexts::tr("The index matches the journal.");
    std::vector<std::string> where;
    for (const base::Arg& each : found.differences)
        where.push_back(words::said(each).toStdString());
    return FoundTexts::tr("The index differs in %1.").arg(words::listed(where));
}

} // namespace

std::string verifiedInWords(const store::Verification& found, const Record<acts::BackupMade>* copy)
{
    QStringList lines { FoundTexts::tr("%1 entries.").arg(found.entries) + QLatin1Char(' ') + chainSaid(found) + QLatin1Char(' ')
        + indexSaid(found) };
    if (!found.unverified.empty())
        lines << FoundTexts::tr("Not part of a registry, and not verified: %1.").arg(words::listed(found.unverified));
    if (!found.passwordsMissing.empty())
        lines << FoundTexts::tr("Passwords that stayed behind when this was copied: %1. A coordinator gives out new ones with "
                                "secret set.")
                     .arg(words::listed(found.passwordsMissing));
    lines << printedHeadSaid(found.headKnown) << copySaid(copy) << FoundTexts::tr("Head %1").arg(words::text(found.head))
          << FoundTexts::tr("A whole chain shows that nothing was altered since; it does not prove that what was typed was true.");
    return lines.join(QLatin1Char('\n')).toStdString() + "\n";
}

} // namespace mk::cli
