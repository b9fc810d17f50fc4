// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/db/described_row.h"
#include "store/journal/act_fields.h"

namespace mk::store::sample {

using namespace registry;

inline const Zone& zone()
{
    static const Zone berlin = Zone::named("Europe/Berlin").value();
    return berlin;
}

/// Gives every field of a description a value of its own, as far as its type has so many.
class Filler {
public:
    template <typename T>
    void operator()(const char*, T& value)
    {
        ++m_n;
        fill(value);
    }
    void operator()(const char*, base::Moment& at, Stored) { at = zone().at(instant()); }
    void operator()(const char*, std::optional<base::Moment>& at, Stored) { at = zone().at(instant()); }

private:
    std::int64_t instant() { return std::int64_t { 1'772'000'000'000 } + 60'001 * ++m_n; }
    std::string text(const char* what) const { return what + std::to_string(m_n); }
    template <typename T>
    void fill(std::optional<T>& value)
    {
        fill(value.emplace());
    }
    void fill(std::string& value) { value = text("text "); }
    template <typename Tag>
    void fill(base::Id<Tag>& value)
    {
        value = base::Id<Tag>(text("ID-"));
    }
    template <Worded E>
    void fill(E& value)
    {
        value = static_cast<E>(std::size(Words<E>::all) - 1);
    }
    void fill(bool& value) { value = true; }
    void fill(int& value) { value = m_n; }
    void fill(std::int64_t& value) { value = m_n; }
    void fill(double& value) { value = m_n + 0.125; }
    void fill(base::Seq& value) { value = { m_n }; }
    void fill(base::GlucoseUnit& value) { value = base::GlucoseUnit::MmolPerL; }
    void fill(base::Decimal& value) { value = base::Decimal::parse(text("5.")).value(); }
    void fill(Reading& value) { value = base::Decimal::parse(text("6.")).value(); }
    void fill(base::PrintedDate& value) { value = base::parsePrintedDate("2027-0" + std::to_string(1 + m_n % 9)).value(); }
    void fill(base::Date& value) { value = base::addDays(base::parseDate("2027-01-01").value(), m_n); }
    void fill(base::Period& value) { value = base::parsePeriod(std::to_string(m_n) + " d").value(); }
    void fill(base::Moment& value) { value = { std::int64_t { 1'772'000'000'000 } + 1'000 * m_n, 120 }; }
    void fill(std::vector<std::string>& value) { value = { text("first "), text("second ") }; }
    template <typename T>
    void fill(std::vector<T>& value)
    {
        fill(value.emplace_back());
    }
    /// What the program writes itself, by the fields that stand in the journal.
    template <typename T>
    requires requires(Filler& filler, T& part) { pack(filler, part, &part); }
    void fill(T& value) { pack(*this, value, &value); }

    int m_n = 0;
};

} // namespace mk::store::sample
