// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/db/session.h"

namespace mk::store {

/// A value on its way into a statement, under the name that stands there behind a colon.
struct Named {
    std::string_view name;
    QVariant value;
};
using Values = std::vector<Named>;

/// The table that a statement writes, and the one that a trigger of it writes, if any.
struct Writes {
    std::string_view table {};
    std::string_view byTrigger {};
};

/// A statement that is made once: a static constant beside its user. `:name` stands for a value, as often as it is needed. It says which
/// tables it reads and writes: on a server, what waits to be written to one is sent before it is read. Whoever says it wrongly is stopped
/// at the first use. A function of the server may be said to use the table that its name begins with.
class Sql {
public:
    using Tables = std::vector<std::string_view>;
    explicit Sql(std::string_view text); ///< of no table
    Sql(std::initializer_list<std::string_view> reads, std::string_view text);
    Sql(const Writes& writes, std::string_view text);
    Sql(const Writes& writes, std::initializer_list<std::string_view> reads, std::string_view text);
    Sql(const Sql&) = delete; // a session knows a statement by the place of its text
    Sql& operator=(const Sql&) = delete;

    const char* text() const { return m_text.c_str(); }
    const Tables& reads() const { return m_reads; }
    const Tables& writes() const { return m_writes; }
    /// The values in the order of their places. A misspelt name would bind NULL: it is a fault, as are a value too few and one too many.
    base::Result<QVariantList> placed(const Values& values) const;

private:
    void placeValues(std::string_view text);
    void holdAgainstText() const;

    Tables m_reads;
    Tables m_writes;
    std::string m_text; ///< with `?` for each value
    std::vector<std::string> m_names;
};

/// Runs a statement without rows, as Session::execute does.
base::Done execute(Session& session, const Sql& sql, const Values& values);

} // namespace mk::store
