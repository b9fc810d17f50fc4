// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/acts/free_text.h"

#include <algorithm>
#include <array>

namespace mk::registry {

namespace {

constexpr std::array kFreeText { std::string_view("comment"), std::string_view("detail"), std::string_view("reason"),
    std::string_view("text"), std::string_view("remark"), std::string_view("decision"), std::string_view("why"),
    std::string_view("late_reason"), std::string_view("deviation"), std::string_view("question"), std::string_view("answer"),
    std::string_view("condition"), std::string_view("last_seen"), std::string_view("no_samples"), std::string_view("description"),
    std::string_view("immediate_action"), std::string_view("action"), std::string_view("cause"), std::string_view("storage"),
    std::string_view("place"), std::string_view("meaning") };
constexpr std::size_t kDigitsInARow = 6;

bool hasLongNumber(std::string_view text)
{
    std::size_t row = 0;
    for (const char c : text) {
        row = c >= '0' && c <= '9' ? row + 1 : 0;
        if (row == kDigitsInARow)
            return true;
    }
    return false;
}

struct TextFinder {
    std::string_view found {};

    void operator()(std::string_view name, const std::string& text, acts::Field)
    {
        if (found.empty() && isFreeText(name) && hasLongNumber(text))
            found = name;
    }
    void operator()(std::string_view name, const std::optional<std::string>& text, acts::Field field)
    {
        if (text)
            (*this)(name, *text, field);
    }
    template <typename T>
    void operator()(std::string_view, const T&, acts::Field)
    {
    }
};

} // namespace

bool isFreeText(std::string_view field)
{
    return std::ranges::find(kFreeText, field) != kFreeText.end();
}

base::Done withoutPatientNumbers(const Act& act)
{
    TextFinder finder;
    std::visit(
        [&]<typename A>(const A& a) {
            if constexpr (Described<A>)
                A::describe(finder, a);
        },
        act);
    std::string field(finder.found);
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&act); correction != nullptr && field.empty())
        if (isFreeText(correction->column) && hasLongNumber(correction->newText))
            field = correction->column;
    if (field.empty())
        return {};
    std::ranges::replace(field, '_', ' ');
    return base::refused(
        "the %1 holds six or more digits in a row, as a patient's number does; leave them out: nothing of a patient is written here",
        base::asCode(field));
}

} // namespace mk::registry
