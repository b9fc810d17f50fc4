// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/copies/export.h"

#include "store/journal/act_codec.h"
#include "store/journal/act_key_row.h"
#include "store/journal/entry_lines.h"
#include "store/db/rows.h"

namespace mk::store {

using namespace registry;
using base::Done;
using base::Result;

namespace {

/// An entry that was annulled by its number is called by its file's key, since numbers are new in another registry.
Done nameByKey(Session& session, acts::EntryAnnulled& annulment)
{
    const auto number = annulment.file_ == "entry" ? TextForm<base::Seq>::read(annulment.key, {})
                                                   : Result<base::Seq>(base::badInput("a key"));
    if (!number)
        return {};
    static const Sql sql({ ActKeyRow::table }, "SELECT file, key FROM act_key WHERE from_seq = :seq");
    return eachRow(session, sql, { { "seq", bound(number->value) } }, [&](const Statement& row) {
        annulment.file_ = row.text("file");
        annulment.key = row.text("key");
        return Done();
    });
}

} // namespace

Result<ExportedRegistry> exportRegistry(Reader& reader, const std::function<Done(const std::string& line)>& line)
{
    ExportedRegistry out;
    out.registry = reader.registryId();
    out.zone = reader.zone().name();
    static const Select<Entry> sql("WHERE seq <= :known ORDER BY seq");
    Done read = eachRow(reader.session(), sql, reader.asKnown(), [&](const Statement& row) -> Done {
        const Entry entry = entryFrom(row);
        if (const Done written = line(lineOf(entry)); !written)
            return written;
        ++out.entries;
        out.head = entry.digest;
        auto act = actFromBody(entry.act, entry.body);
        if (!act)
            return act.error();
        if (const auto* policy = std::get_if<acts::PolicyChanged>(&*act); policy != nullptr && policy->version == 1)
            out.foundingPolicy = policy->settings;
        else if (policy != nullptr || (personOf(*act) && fileOf(*act).empty()))
            ++out.notInFiles[entry.act];
        if (!fileOf(*act).empty())
            out.acts.push_back(std::move(act).value());
        return {};
    });
    for (auto& act : out.acts)
        if (auto* annulment = std::get_if<acts::EntryAnnulled>(&act); annulment != nullptr && read)
            read = nameByKey(reader.session(), *annulment);
    if (!read)
        return read.error();
    return out;
}

} // namespace mk::store
