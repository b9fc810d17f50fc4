// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/text_form.h"
#include "store/db/sql.h"

/// Rows by name. A row type is a struct with `table`, `order` (what makes its rows follow each other in one way) and `describe`, which
/// names each field's column once: `v("meter", s.meter)`. INSERT, SELECT and the reading back are made of that.
namespace mk::store {

/// How a moment stands in its column, where not as text with its offset.
enum class Stored {
    Instant ///< UTC milliseconds; read back, it has the offset of the registry's zone
};

/// How a value stands in a column: as its text everywhere else, unless it is a number.
template <typename T>
struct ColumnForm {
    static QVariant write(const T& value) { return bound(registry::TextForm<T>::write(value)); }
    static bool read(const QVariant& stored, T& value)
    {
        static const registry::Zone utc = registry::Zone::utc(); // stored times carry their offset
        auto read = registry::TextForm<T>::read(stored.toString().toStdString(), { &utc, nullptr });
        if (read)
            value = std::move(read).value();
        return read.operator bool();
    }
};

template <>
struct ColumnForm<std::string> {
    static QVariant write(const std::string& text) { return bound(text); }
    static bool read(const QVariant& stored, std::string& text)
    {
        text = stored.toString().toStdString();
        return true;
    }
};

template <typename T>
concept Whole = std::same_as<T, bool> || std::same_as<T, int> || std::same_as<T, std::int64_t>;
template <Whole T>
struct ColumnForm<T> {
    static QVariant write(T value) { return bound(std::int64_t { value }); }
    static bool read(const QVariant& stored, T& value)
    {
        bool isNumber = false;
        value = static_cast<T>(stored.toLongLong(&isNumber));
        return isNumber;
    }
};

template <>
struct ColumnForm<double> {
    static QVariant write(double value) { return value; }
    static bool read(const QVariant& stored, double& value)
    {
        bool isNumber = false;
        value = stored.toDouble(&isNumber);
        return isNumber;
    }
};

template <>
struct ColumnForm<base::Seq> {
    static QVariant write(base::Seq seq) { return bound(seq.value); }
    static bool read(const QVariant& stored, base::Seq& seq) { return ColumnForm<std::int64_t>::read(stored, seq.value); }
};

/// Words of which none is empty or holds a line's end: a line each.
template <>
struct ColumnForm<std::vector<std::string>> {
    static QVariant write(const std::vector<std::string>& words);
    static bool read(const QVariant& stored, std::vector<std::string>& words);
};

/// Since when a row is known, and until when it stood: null while it does. As of entry N, what `known` says.
struct Version {
    base::Seq from;
    std::optional<base::Seq> to {};
    static void describe(auto& v, auto& s) { v("from_seq", s.from), v("to_seq", s.to); }
};
template <typename R>
concept Versioned = requires(R row)
{
    row.version.to;
};

/// The condition on versions: those that stood at the entry `:known`.
std::string known(std::string_view alias = {});

/// Visits a description for the names of its columns.
struct ColumnNames {
    std::vector<std::string> names;
    void operator()(const char* name, const auto&) { names.emplace_back(name); }
    void operator()(const char* name, const auto&, Stored) { names.emplace_back(name); }
};

/// Visits it for the values.
struct ColumnValues {
    Values values;
    template <typename T>
    void operator()(const char* name, const T& value)
    {
        values.push_back({ name, ColumnForm<T>::write(value) });
    }
    template <typename T>
    void operator()(const char* name, const std::optional<T>& value)
    {
        values.push_back({ name, value ? ColumnForm<T>::write(*value) : QVariant() });
    }
    void operator()(const char* name, base::Moment at, Stored) { values.push_back({ name, bound(at.utcMs) }); }
    void operator()(const char* name, const std::optional<base::Moment>& at, Stored)
    {
        values.push_back({ name, at ? bound(at->utcMs) : QVariant() });
    }
};

/// Visits it to fill the fields from the columns that follow one another from `column` on.
class ColumnReader {
public:
    ColumnReader(const Statement& row, int column, const registry::Zone& zone) : m_row(row), m_column(column), m_zone(zone) { }

    template <typename T>
    void operator()(const char* name, T& value)
    {
        const QVariant stored = m_row.value(m_column++);
        if (stored.isNull() || !ColumnForm<T>::read(stored, value))
            m_unread = name;
    }
    template <typename T>
    void operator()(const char* name, std::optional<T>& value)
    {
        value.reset();
        const QVariant stored = m_row.value(m_column++);
        if (!stored.isNull() && !ColumnForm<T>::read(stored, value.emplace()))
            m_unread = name;
    }
    void operator()(const char* name, base::Moment& at, Stored)
    {
        std::int64_t utcMs = 0;
        (*this)(name, utcMs);
        at = m_zone.at(utcMs);
    }
    void operator()(const char* name, std::optional<base::Moment>& at, Stored)
    {
        std::optional<std::int64_t> utcMs;
        (*this)(name, utcMs);
        at = utcMs ? std::optional(m_zone.at(*utcMs)) : std::nullopt;
    }
    /// The last column that could not be read, or null.
    const char* unread() const { return m_unread; }

private:
    const Statement& m_row;
    int m_column;
    const registry::Zone& m_zone;
    const char* m_unread = nullptr;
};

/// The columns of a row type, or of a described part of one, in the order of the description.
template <typename R>
const std::vector<std::string>& columnsOf()
{
    static const std::vector<std::string> columns = [] {
        ColumnNames all;
        const R row {};
        R::describe(all, row);
        return all.names;
    }();
    return columns;
}

template <typename R>
Values valuesOf(const R& row)
{
    ColumnValues all;
    all.values.reserve(columnsOf<R>().size());
    R::describe(all, row);
    return std::move(all.values);
}

/// "a, b, c"; with an alias "x.a AS x_a, x.b AS x_b", so that a join can hold more than one row.
std::string columnList(const std::vector<std::string>& columns, std::string_view alias = {});
/// "INSERT INTO table (a, b) VALUES (:a, :b)"
std::string insertInto(std::string_view table, const std::vector<std::string>& columns);
/// "a = :a, b = :b"
std::string assigned(const std::vector<std::string>& columns);

/// Its table, and the one that a trigger writes of it.
template <typename R>
constexpr Writes writesOf()
{
    if constexpr (requires { R::byTrigger; })
        return { R::table, R::byTrigger };
    else
        return { R::table };
}

/// SELECT of all columns of a row type. rest  what follows the name of the table
template <typename R>
class Select : public Sql {
public:
    explicit Select(std::string_view rest)
        : Sql({ R::table }, "SELECT " + columnList(columnsOf<R>()) + " FROM " + std::string(R::table) + ' ' + std::string(rest))
    {
    }
};

/// UPDATE of a described part of a row type. which  the condition
template <typename R, typename Part>
class Update : public Sql {
public:
    explicit Update(std::string_view which)
        : Sql(writesOf<R>(), "UPDATE " + std::string(R::table) + " SET " + assigned(columnsOf<Part>()) + " WHERE " + std::string(which))
    {
    }
};

/// Ends the versions that stand, as of the entry `:by`. which  the condition beside that
template <Versioned R>
class Close : public Sql {
public:
    explicit Close(std::string_view which)
        : Sql(writesOf<R>(), "UPDATE " + std::string(R::table) + " SET to_seq = :by WHERE " + std::string(which) + " AND to_seq IS NULL")
    {
    }
};

template <typename R>
base::Done insert(Session& session, const R& row)
{
    static const Sql sql(writesOf<R>(), insertInto(R::table, columnsOf<R>()));
    return execute(session, sql, valuesOf(row));
}

/// A row from a statement that selected its columns one after the other.
/// alias  the one that `columnList` had
/// errors Damaged where a column holds what its field cannot
template <typename R>
base::Result<R> rowFrom(const Statement& row, const registry::Zone& zone, std::string_view alias = {})
{
    R read {};
    const std::string& first = columnsOf<R>().front();
    ColumnReader reader(row, alias.empty() ? 0 : row.column(std::string(alias) + '_' + first), zone);
    R::describe(reader, read);
    if (reader.unread() != nullptr)
        return base::fault(base::FaultKind::Damaged, "%1 of an index row of '%2' cannot be read; run verify", reader.unread(), R::table);
    return read;
}

} // namespace mk::store
