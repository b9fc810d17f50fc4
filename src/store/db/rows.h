// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/unread.h"
#include "registry/acts/records.h"
#include "store/db/session.h"

/// Small helpers for reading index rows into acts.
namespace mk::store {

/// Reads the fields of a described act from consecutive columns, in the order of its description.
struct FieldReader {
    const Statement& row;
    int column = 0;
    bool damaged = false;

    template <typename T>
    void operator()(std::string_view, T& value, registry::acts::Field)
    {
        take(row.text(column++), value);
    }
    template <typename T>
    void operator()(std::string_view, std::optional<T>& value, registry::acts::Field)
    {
        const auto text = row.textOr(column++);
        value.reset();
        if (text)
            take(*text, value.emplace());
    }

private:
    template <typename T>
    void take(const std::string& text, T& value)
    {
        static const registry::Zone utc = registry::Zone::utc(); // stored times carry their offset
        auto read = registry::TextForm<T>::read(text, { &utc, nullptr });
        if (read)
            value = std::move(read).value();
        else
            damaged = true;
    }
};

template <typename A>
base::Result<A> actFromRow(const Statement& row, int firstColumn)
{
    A act;
    FieldReader reader { row, firstColumn };
    A::describe(reader, act);
    if (reader.damaged)
        return base::Fault { base::FaultKind::Damaged, "an index row of '" + std::string(A::word) + "' cannot be read; run verify" };
    return act;
}

enum class Rows { Held, Streamed };

/// Runs a statement and hands each row to `take`, which returns Done.
/// rows  Streamed for very many: then `take` runs no other statement of the session
template <typename F>
base::Done eachRow(Session& session, const char* sql, const QVariantList& values, F&& take, Rows rows = Rows::Held)
{
    auto query = rows == Rows::Streamed ? session.streamed(sql) : session.statement(sql);
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

/// The records of a described act: column 0 is the entry, the fields follow.
template <typename A>
base::Result<std::vector<registry::Record<A>>> readRecords(Session& session, const char* sql, const QVariantList& values)
{
    std::vector<registry::Record<A>> records;
    const base::Done done = eachRow(session, sql, values, [&](const Statement& row) -> base::Done {
        auto act = actFromRow<A>(row, 1);
        if (!act)
            return act.error();
        records.push_back({ { row.number(0) }, std::move(act).value() });
        return {};
    });
    if (!done)
        return done.error();
    return records;
}

using base::unread;

std::vector<std::string> splitLines(const std::string& text);
base::Moment momentFrom(const std::string& text);

template <typename E>
base::Done wordFrom(const std::string& text, E& into)
{
    const auto value = registry::valueOf<E>(text);
    if (!value)
        return base::Fault { base::FaultKind::Damaged,
            "the index holds an unknown " + std::string(registry::Words<E>::what) + " '" + text + "'; run verify" };
    into = *value;
    return {};
}

} // namespace mk::store
