// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/study_figures.h"

#include "cli/study_output.h"

#include <array>
#include <cmath>
#include <cstdio>
#include <limits>

namespace mk::cli {

namespace {

constexpr std::size_t kMostAxisNames = 24;
constexpr std::size_t kMostAxisLetters = 140; // on the whole axis

} // namespace

void writeBounds(JsonWriter& json, const std::optional<stats::Interval>& bounds)
{
    if (!bounds) {
        json.null();
        return;
    }
    json.beginArray().value(bounds->lower).value(bounds->upper).endArray();
}

std::string boundsText(const std::optional<stats::Interval>& bounds)
{
    return bounds ? shortNumber(bounds->lower) + " to " + shortNumber(bounds->upper) : "-";
}

std::string maybeText(const std::optional<double>& number)
{
    return number ? shortNumber(*number) : "-";
}

std::string yesNoText(const std::optional<bool>& answer)
{
    return answer ? (*answer ? "yes" : "no") : "-";
}

std::string percentText(double part)
{
    return shortNumber(part * 100) + " %";
}

std::string titleNumber(double number)
{
    if (std::abs(number) >= 1e4) // four digits would round whole numbers
        return shortNumber(number);
    std::array<char, 32> buffer {};
    std::snprintf(buffer.data(), buffer.size(), "%.4g", number);
    return buffer.data();
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

std::vector<std::string> axisNames(const std::vector<std::string>& names)
{
    std::size_t letters = 0;
    for (const std::string& name : names)
        letters += name.size() + 2;
    if (names.size() > kMostAxisNames || letters > kMostAxisLetters)
        return {};
    return names;
}

} // namespace mk::cli
