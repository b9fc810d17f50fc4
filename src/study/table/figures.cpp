// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/table/figures.h"

#include "base/number_text.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <set>

namespace mk::study {

namespace {

constexpr std::size_t kMostAxisNames = 24;
constexpr std::size_t kMostAxisLetters = 140; // on the whole axis
constexpr std::size_t kNameGap = 2;           // letters between two names
constexpr std::size_t kFewestNameLetters = 4; // of a name that is shortened, with its ellipsis

bool beginsLetter(char byte)
{
    return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U; // UTF-8
}

std::size_t lettersOf(const std::string& name)
{
    return static_cast<std::size_t>(std::ranges::count_if(name, beginsLetter));
}

std::string shortenedName(const std::string& name, std::size_t most)
{
    if (lettersOf(name) <= most)
        return name;
    std::size_t end = 0;
    for (std::size_t letters = 0; end < name.size(); ++end) {
        if (beginsLetter(name[end]) && ++letters == most)
            break;
    }
    return name.substr(0, end) + "…";
}

} // namespace

std::string shortNumber(double number)
{
    return base::significantText(number, 6);
}

std::string maybeText(const std::optional<double>& number)
{
    return number ? shortNumber(*number) : "-";
}

std::string titleNumber(double number)
{
    return base::significantText(number, std::abs(number) >= 1e4 ? 6 : 4); // four digits would round whole numbers
}

std::string hundredthsText(const std::optional<double>& number)
{
    constexpr double kTooLong = 1e9; // beyond it decimals mean nothing
    if (number && std::abs(*number) >= kTooLong)
        return shortNumber(*number);
    return number ? base::fixedText(*number, 2) : "-";
}

std::string percentText(double part)
{
    return shortNumber(std::round(part * 1e8) / 1e6) + " %";
}

std::string boundsText(const std::optional<stats::Interval>& bounds)
{
    return bounds ? said(StudyTexts::tr("%1 to %2"), shortNumber(bounds->lower), shortNumber(bounds->upper)) : "-";
}

std::string intervalName(double confidence)
{
    return said(StudyTexts::tr("%1 interval"), percentText(confidence));
}

std::string yesNoText(const std::optional<bool>& answer)
{
    if (!answer)
        return "-";
    return *answer ? said(StudyTexts::tr("yes")) : said(StudyTexts::tr("no"));
}

void writeBounds(JsonWriter& json, const std::optional<stats::Interval>& bounds)
{
    if (!bounds) {
        json.null();
        return;
    }
    json.beginArray().value(bounds->lower).value(bounds->upper).endArray();
}

std::vector<double> runningNumbers(std::size_t n)
{
    std::vector<double> numbers(n);
    std::iota(numbers.begin(), numbers.end(), 1.0);
    return numbers;
}

report::PlotCurve meanStrokes(const std::string& legend, const std::vector<double>& means)
{
    constexpr double kHalf = 0.3;
    report::PlotCurve strokes { legend, {}, {}, report::PlotStroke::Strong };
    for (std::size_t i = 0; i < means.size(); ++i) {
        const double at = static_cast<double>(i) + 1;
        strokes.x.insert(strokes.x.end(), { at - kHalf, at + kHalf, at + kHalf });
        strokes.y.insert(strokes.y.end(), { means[i], means[i], std::numeric_limits<double>::quiet_NaN() });
    }
    return strokes;
}

std::vector<report::PlotCurve> allowedCurves(double from, double to, const std::function<std::optional<stats::Interval>(double)>& edgesAt)
{
    constexpr int kSteps = 200;
    constexpr double kGap = std::numeric_limits<double>::quiet_NaN();
    if (from == to) {
        const double reach = std::max(1.0, 0.05 * std::abs(from));
        from -= reach;
        to += reach;
    }
    report::PlotCurve upper { said(StudyTexts::tr("allowed")), {}, {}, report::PlotStroke::Dashed };
    report::PlotCurve lower { {}, {}, {}, report::PlotStroke::Dashed };
    for (int step = 0; step <= kSteps; ++step) {
        const double at = from + (to - from) * step / kSteps;
        const auto edges = edgesAt(at);
        upper.x.push_back(at);
        upper.y.push_back(edges ? edges->upper : kGap);
        lower.x.push_back(at);
        lower.y.push_back(edges ? edges->lower : kGap);
    }
    return { upper, lower };
}

std::vector<std::string> axisNames(const std::vector<std::string>& names)
{
    if (names.empty() || names.size() > kMostAxisNames)
        return {};
    const std::size_t most = std::max(kMostAxisLetters / names.size() - kNameGap, kFewestNameLetters);
    std::vector<std::string> shown;
    std::size_t letters = 0;
    for (const std::string& name : names) {
        shown.push_back(shortenedName(name, most));
        letters += lettersOf(shown.back()) + kNameGap;
    }
    if (letters > kMostAxisLetters)
        return {};
    const std::set<std::string> different(shown.begin(), shown.end());
    const std::set<std::string> before(names.begin(), names.end());
    return different.size() == before.size() ? shown : std::vector<std::string>();
}

std::string namesKey(const std::vector<std::string>& names)
{
    std::string key;
    for (std::size_t i = 0; i < std::min(names.size(), kMostAxisNames); ++i)
        key += (i == 0 ? "" : ", ") + std::to_string(i + 1) + ' ' + names[i];
    return key + (names.size() > kMostAxisNames ? ", …" : "");
}

} // namespace mk::study
