// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/db/sql.h"

#include <algorithm>
#include <cassert>
#include <utility>

namespace mk::store {

namespace {

bool isOfName(char c)
{
    return (c >= 'a' && c <= 'z') || c == '_';
}

bool isOfWord(char c)
{
    return isOfName(c) || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
}

struct TablesOfText {
    Sql::Tables read;
    Sql::Tables written;
};

/// The tables that a statement names: the small words behind the great ones that tables follow. A word before a parenthesis is a function.
TablesOfText tablesIn(std::string_view text)
{
    TablesOfText found;
    std::string_view before;
    std::string_view beforeThat;
    bool quoted = false;
    for (std::size_t at = 0; at < text.size(); ++at) {
        quoted = quoted != (text[at] == '\'');
        if (quoted || !isOfWord(text[at]))
            continue;
        const std::size_t begin = at;
        while (at + 1 < text.size() && isOfWord(text[at + 1]))
            ++at;
        const std::string_view word = text.substr(begin, at + 1 - begin);
        const bool written = before == "INTO" || before == "UPDATE" || (before == "FROM" && beforeThat == "DELETE");
        const bool read = (before == "FROM" || before == "JOIN") && !text.substr(at + 1).starts_with('(');
        if (isOfName(word.front()) && (written || read))
            (written ? found.written : found.read).push_back(word);
        beforeThat = std::exchange(before, word);
    }
    return found;
}

base::Fault misnamed(base::Sentence<2> sentence, std::string_view name, const std::string& text)
{
    return base::fault(base::FaultKind::Damaged, sentence, name, text);
}

} // namespace

Sql::Sql(std::string_view text) : Sql(Writes {}, {}, text) { }

Sql::Sql(std::initializer_list<std::string_view> reads, std::string_view text) : Sql(Writes {}, reads, text) { }

Sql::Sql(const Writes& writes, std::string_view text) : Sql(writes, {}, text) { }

Sql::Sql(const Writes& writes, std::initializer_list<std::string_view> reads, std::string_view text) : m_reads(reads)
{
    for (const auto table : { writes.table, writes.byTrigger })
        if (!table.empty())
            m_writes.push_back(table);
    placeValues(text);
    holdAgainstText();
}

void Sql::placeValues(std::string_view text)
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

/// A wrong declaration would let a question miss what was just written: it is found here, the first time that the statement is used.
void Sql::holdAgainstText() const
{
    const TablesOfText found = tablesIn(m_text);
    const auto isIn = [](const auto& tables) {
        return [&](std::string_view table) { return std::ranges::find(tables, table) != tables.end(); };
    };
    const auto ofFunction = [this](std::string_view table) { return m_text.find(std::string(table) + '_') != std::string::npos; };
    const auto isRead = [&](std::string_view table) { return isIn(found.read)(table) || ofFunction(table); };
    assert(std::ranges::all_of(found.read, isIn(m_reads)));
    assert(std::ranges::all_of(found.written, isIn(m_writes)));
    assert(std::ranges::all_of(m_reads, isRead));
    assert(m_writes.empty() || isIn(found.written)(m_writes.front()) || ofFunction(m_writes.front()));
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
    return inOrder ? session.execute(sql, *inOrder) : base::Done(inOrder.error());
}

} // namespace mk::store
