// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/db/sql.h"

#include <algorithm>

namespace mk::store {

namespace {

bool isOfName(char c)
{
    return (c >= 'a' && c <= 'z') || c == '_';
}

base::Fault misnamed(base::Sentence<2> sentence, std::string_view name, const std::string& text)
{
    return base::fault(base::FaultKind::Damaged, sentence, name, text);
}

} // namespace

Sql::Sql(std::string_view text)
{
    bool quoted = false;
    for (std::size_t at = 0; at < text.size(); ++at) {
        quoted = quoted != (text[at] == '\'');
        const bool value = !quoted && text[at] == ':' && at + 1 < text.size() && isOfName(text[at + 1]) && (at == 0 || text[at - 1] != ':');
        m_text += value ? '?' : text[at];
        if (!value)
            continue;
        const std::size_t begin = at + 1;
        while (at + 1 < text.size() && isOfName(text[at + 1]))
            ++at;
        m_names.emplace_back(text.substr(begin, at + 1 - begin));
    }
}

base::Result<QVariantList> Sql::placed(const Values& values) const
{
    QVariantList inOrder;
    inOrder.reserve(static_cast<qsizetype>(m_names.size()));
    if (std::ranges::equal(m_names, values, {}, {}, &Named::name)) { // as they come from a row
        for (const auto& value : values)
            inOrder << value.value;
        return inOrder;
    }
    for (const auto& name : m_names) {
        const auto value = std::ranges::find(values, name, &Named::name);
        if (value == values.end())
            return misnamed("there is no value for '%1' of the statement %2", name, m_text);
        inOrder << value->value;
    }
    for (const auto& value : values)
        if (std::ranges::find(m_names, value.name) == m_names.end())
            return misnamed("there is no place for '%1' of the statement %2", value.name, m_text);
    return inOrder;
}

base::Done execute(Session& session, const Sql& sql, const Values& values)
{
    const auto inOrder = sql.placed(values);
    return inOrder ? session.execute(sql.text(), *inOrder) : base::Done(inOrder.error());
}

} // namespace mk::store
