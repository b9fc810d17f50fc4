// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/unread.h"
#include "registry/acts/records.h"
#include "store/db/described_row.h"

/// Small helpers for reading rows.
namespace mk::store {

enum class Rows { Held, Streamed };

template <typename F>
base::Done takeRows(base::Result<Statement> query, const QVariantList& values, F&& take)
{
    if (!query)
        return query.error();
    if (const base::Done ran = query->run(values); !ran)
        return ran;
    while (query->next()) {
        const base::Done taken = take(*query);
        if (!taken) {
            static_cast<void>(query->finished());
            return taken;
        }
    }
    return query->finished();
}

/// Runs a statement and hands each row to `take`, which returns Done.
/// rows  Streamed for very many: then `take` runs no other statement of the session
template <typename F>
base::Done eachRow(Session& session, const Sql& sql, const Values& values, F&& take, Rows rows = Rows::Held)
{
    const auto inOrder = sql.placed(values);
    if (!inOrder)
        return inOrder.error();
    return takeRows(rows == Rows::Streamed ? session.streamed(sql) : session.statement(sql), *inOrder, std::forward<F>(take));
}

/// The same with a bare text, for pragmas and catalogues.
template <typename F>
base::Done eachRow(Session& session, const char* sql, const QVariantList& values, F&& take)
{
    return takeRows(session.statement(sql), values, std::forward<F>(take));
}

/// The rows of one type.
/// zone  whose offset their instants get
template <typename R>
base::Result<std::vector<R>> readRows(Session& session, const Select<R>& sql, const Values& values, const registry::Zone& zone)
{
    std::vector<R> rows;
    const base::Done done = eachRow(session, sql, values, [&](const Statement& row) -> base::Done {
        auto read = rowFrom<R>(row, zone);
        if (!read)
            return read.error();
        rows.push_back(std::move(read).value());
        return {};
    });
    if (!done)
        return done.error();
    return rows;
}

/// The rows of a type that holds one act, as records.
template <typename R>
auto readRecords(Session& session, const Select<R>& sql, const Values& values, const registry::Zone& zone)
    -> base::Result<std::vector<registry::Record<decltype(R::act)>>>
{
    auto rows = readRows(session, sql, values, zone);
    if (!rows)
        return rows.error();
    std::vector<registry::Record<decltype(R::act)>> records;
    for (auto& row : *rows)
        records.push_back({ row.version.from, std::move(row.act) });
    return records;
}

using base::unread;

/// The entry that a statement names as `seq` in its first row.
base::Result<std::optional<base::Seq>> seqFrom(Session& session, const Sql& sql, const Values& values);

std::vector<std::string> splitLines(const std::string& text);
base::Moment momentFrom(const std::string& text);

template <typename E>
base::Done wordFrom(const std::string& text, E& into)
{
    const auto value = registry::valueOf<E>(text);
    if (!value)
        return base::fault(
            base::FaultKind::Damaged, "the index holds an unknown %1 '%2'; run verify", base::asTerm(registry::Words<E>::what), text);
    into = *value;
    return {};
}

} // namespace mk::store
