// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/export_command.h"

#include "base/version.h"
#include "cli/output.h"
#include "exchange/registry_files.h"
#include "registry/policy/policy.h"
#include "store/copies/export.h"
#include "words/numbers.h"

#include <QCoreApplication>
#include <QCryptographicHash>
#include <QDir>
#include <QFile>

namespace mk::cli {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;

namespace {

struct ExportTexts {
    Q_DECLARE_TR_FUNCTIONS(Export)
};

/// What the manifest says of one file.
struct ManifestFile {
    std::string name, sha256;
    std::int64_t bytes = 0, rows = 0;
};

/// A file that is written piece by piece and counted.
class CountedFile {
public:
    CountedFile(const QDir& folder, const std::string& name)
        : m_file(folder.filePath(QString::fromStdString(name))),
          m_hash(QCryptographicHash::Sha256)
    {
        m_entry.name = name;
    }
    Done open() { return m_file.open(QIODevice::WriteOnly | QIODevice::NewOnly) ? Done() : fault(); }
    Done write(const std::string& piece, std::int64_t rows)
    {
        const auto size = static_cast<qsizetype>(piece.size());
        if (m_file.write(piece.data(), size) != size)
            return fault();
        m_hash.addData(QByteArrayView(piece.data(), size));
        m_entry.bytes += size;
        m_entry.rows += rows;
        return {};
    }
    Result<ManifestFile> close()
    {
        if (!m_file.flush())
            return fault().error();
        m_file.close();
        m_entry.sha256 = m_hash.result().toHex().toStdString();
        return m_entry;
    }

private:
    Done fault() const
    {
        return base::fault(FaultKind::Io, "%1 cannot be written: %2; free room, or choose another folder", m_file.fileName().toStdString(),
            m_file.errorString().toStdString());
    }

    QFile m_file;
    QCryptographicHash m_hash;
    ManifestFile m_entry;
};

Result<QDir> emptyFolder(const std::string& path)
{
    const QString name = QString::fromStdString(path);
    QDir folder(name);
    if (QFile::exists(name) && (!folder.exists() || !folder.isEmpty(QDir::AllEntries | QDir::Hidden | QDir::System | QDir::NoDotAndDotDot)))
        return base::fault(FaultKind::Conflict, "'%1' is not an empty folder; name one that is empty, or that does not exist yet", path);
    if (!folder.mkpath(QStringLiteral(".")))
        return base::fault(FaultKind::Io, "the folder '%1' cannot be made; check its name and your rights", path);
    return folder;
}

Result<ManifestFile> writeWhole(const QDir& folder, const std::string& name, const std::string& bytes, std::int64_t rows)
{
    CountedFile file(folder, name);
    if (const Done opened = file.open(); !opened)
        return opened.error();
    if (const Done written = file.write(bytes, rows); !written)
        return written.error();
    return file.close();
}

std::string policyJson(const std::vector<std::pair<std::string, std::string>>& settings)
{
    JsonWriter json;
    json.beginObject();
    for (const auto& [key, text] : settings)
        json.key(key).value(text);
    return json.endObject().text() + "\n";
}

std::string manifestJson(const store::ExportedRegistry& registry, const std::vector<ManifestFile>& files, base::Moment now)
{
    JsonWriter json;
    json.beginObject().key("format").value(1).key("program").value(base::programName());
    json.key("rule_set").value(registry::kRuleSet).key("registry").value(registry.registry).key("zone").value(registry.zone);
    json.key("exported_at").value(base::toText(now)).key("entries").value(registry.entries).key("head").value(registry.head);
    json.key("filters").value("none").key("hidden").value(0);
    json.key("files").beginArray();
    for (const auto& file : files)
        json.beginObject()
            .key("file")
            .value(file.name)
            .key("sha256")
            .value(file.sha256)
            .key("bytes")
            .value(file.bytes)
            .key("rows")
            .value(file.rows)
            .endObject();
    json.endArray().key("not_in_csv").beginArray();
    for (const auto& [kind, count] : registry.notInFiles)
        json.beginObject().key("act").value(kind).key("entries").value(count).endObject();
    return json.endArray().endObject().text() + "\n";
}

Result<std::string> exportInto(store::Reader& reader, base::Moment now, const ExportOptions& options)
{
    const bool lines = options.format != "csv";
    const bool tables = options.format != "ndjson";
    const auto folder = emptyFolder(options.out);
    if (!folder)
        return folder.error();
    std::vector<ManifestFile> files;
    CountedFile journal(*folder, "journal.ndjson");
    if (lines)
        if (const Done opened = journal.open(); !opened)
            return opened.error();
    const auto registry = store::exportRegistry(reader, [&](const std::string& line) { return lines ? journal.write(line, 1) : Done(); });
    if (!registry)
        return registry.error();
    if (lines) {
        auto closed = journal.close();
        if (!closed)
            return closed.error();
        files.push_back(std::move(closed).value());
    }
    std::vector<exchange::WrittenFile> written;
    if (tables)
        written = exchange::registryFiles(registry->acts);
    if (tables)
        written.push_back({ "policy.json", policyJson(registry->foundingPolicy), registry->foundingPolicy.size() });
    for (const auto& each : written) {
        auto file = writeWhole(*folder, each.name, each.bytes, static_cast<std::int64_t>(each.rows));
        if (!file)
            return file.error();
        files.push_back(std::move(file).value());
    }
    const std::string manifest = manifestJson(*registry, files, now);
    if (const auto last = writeWhole(*folder, "manifest.json", manifest, 1); !last)
        return last.error();
    if (options.json)
        return manifest;
    QStringList said;
    for (const auto& file : files)
        said << ExportTexts::tr("%1: %2 rows").arg(words::text(file.name), QString::number(file.rows));
    said << ExportTexts::tr("manifest.json names each file's SHA-256 and the chain's head, entry %1: %2")
                .arg(QString::number(registry->entries), words::text(registry->head));
    if (tables && !registry->notInFiles.empty())
        said << ExportTexts::tr("Some entries stand in no CSV file; the manifest counts them, and journal.ndjson has all (--format all).");
    return said.join(QLatin1Char('\n')).toStdString() + "\n";
}

} // namespace

int runExport(store::Reader& reader, base::Moment now, const ExportOptions& options)
{
    if (options.format == "fhir")
        return printFault(base::fault(base::FaultKind::BadInput, "the export is not offered as fhir yet; name ndjson, csv or all"));
    if (options.format != "ndjson" && options.format != "csv" && options.format != "all")
        return printFault(base::badInput("'%1' is no format of the export; name ndjson, csv or all", options.format));
    const auto printed = exportInto(reader, now, options);
    return printed ? printText(*printed) : printFault(printed.error());
}

} // namespace mk::cli
