// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/terminal/typed_numbers.h"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace mk::study {

std::optional<double> studyReal(std::string_view text)
{
    if (text.starts_with('+') && !text.starts_with("+-"))
        text.remove_prefix(1);
    double value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (text.empty() || error != std::errc() || end != text.data() + text.size() || !std::isfinite(value))
        return std::nullopt;
    return value;
}

base::Result<std::vector<double>> studyReals(const std::string& option, std::string_view text)
{
    std::vector<double> numbers;
    for (std::size_t begin = 0; begin <= text.size();) {
        const std::size_t end = std::min(text.find(',', begin), text.size());
        std::string_view word = text.substr(begin, end - begin);
        word.remove_prefix(std::min(word.find_first_not_of(' '), word.size()));
        word = word.substr(0, word.find_last_not_of(' ') + 1);
        const auto number = studyReal(word);
        if (!number)
            return base::badInput("%1: '%2' is not a number; write numbers separated by commas, such as 0,1,2", option, word);
        numbers.push_back(*number);
        begin = end + 1;
    }
    return numbers;
}

} // namespace mk::study
