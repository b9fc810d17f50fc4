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

/// A statement that is made once: a static constant beside its user. `:name` stands for a value, as often as it is needed.
class Sql {
public:
    explicit Sql(std::string_view text);
    Sql(const Sql&) = delete; // a session knows a statement by the place of its text
    Sql& operator=(const Sql&) = delete;

    const char* text() const { return m_text.c_str(); }
    /// The values in the order of their places. A misspelt name would bind NULL: it is a fault, as are a value too few and one too many.
    base::Result<QVariantList> placed(const Values& values) const;

private:
    std::string m_text; ///< with `?` for each value
    std::vector<std::string> m_names;
};

/// Runs a statement without rows, as Session::execute does.
base::Done execute(Session& session, const Sql& sql, const Values& values);

} // namespace mk::store
