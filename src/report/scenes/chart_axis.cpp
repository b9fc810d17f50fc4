// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/scenes/chart_axis.h"

#include <algorithm>
#include <cmath>

namespace mk::report {

using registry::Zone;

namespace {

constexpr double kAxisDay = 86'400;

} // namespace

double wallSeconds(base::Moment at, const Zone& zone)
{
    const base::Moment local = zone.at(at.utcMs);
    return static_cast<double>(local.utcMs + local.offsetMinutes * std::int64_t { 60'000 }) / 1000.0;
}

base::Date dayOfWallSeconds(double seconds)
{
    return base::wallOf({ static_cast<std::int64_t>(std::floor(seconds)) * 1000, 0 }).date;
}

std::vector<double> dayTicks(double from, double to, int most)
{
    const double first = std::ceil(from / kAxisDay) * kAxisDay;
    std::vector<double> ticks;
    for (const double days : { 1.0, 2.0, 7.0, 14.0 }) {
        // Weeks begin on Mondays: day 4 of the epoch was one.
        const double phase = days >= 7 ? 4 * kAxisDay : 0;
        const double step = days * kAxisDay;
        double x = phase + std::ceil((first - phase) / step) * step;
        ticks.clear();
        for (; x < to; x += step)
            ticks.push_back(x);
        if (ticks.size() <= static_cast<std::size_t>(std::max(most, 1)))
            return ticks;
    }
    for (int months = 1;; months = months < 3 ? months + 1 : months * 2) {
        ticks.clear();
        for (double x = first; x < to; x += kAxisDay) {
            const base::Date day = dayOfWallSeconds(x);
            const int index = static_cast<int>(day.ymd.year()) * 12 + static_cast<int>(static_cast<unsigned>(day.ymd.month())) - 1;
            if (static_cast<unsigned>(day.ymd.day()) == 1 && index % months == 0)
                ticks.push_back(x);
        }
        if (ticks.size() <= static_cast<std::size_t>(std::max(most, 1)))
            return ticks;
    }
}

std::vector<double> roundTicks(double lower, double upper, int most)
{
    std::vector<double> ticks;
    if (!(upper > lower) || most < 1)
        return ticks;
    double power = std::pow(10.0, std::floor(std::log10((upper - lower) / most)));
    for (;; power *= 10)
        for (const double factor : { 1.0, 2.0, 5.0 }) {
            const double step = power * factor;
            const double first = std::ceil(lower / step - 1e-9);
            const double last = std::floor(upper / step + 1e-9);
            if (last - first + 1 > most)
                continue;
            for (double i = first; i <= last; ++i)
                ticks.push_back(i * step);
            return ticks;
        }
}

} // namespace mk::report
