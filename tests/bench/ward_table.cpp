// SPDX-License-Identifier: GPL-3.0-or-later
#include "ward_table.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace mk::bench {

namespace {

constexpr double kPageMeters = 3'000; // it says 2,000 to 4,000 meters or 100 to 400 wards
constexpr double kBeyondNoise = 3;

std::string written(double value, int decimals)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.*f", decimals, value);
    return text;
}

/// The place of a part among so many, moved by so many of its standard errors.
std::size_t placeOf(double part, std::size_t n, double errors)
{
    const auto count = static_cast<double>(n);
    const double at = part + errors * std::sqrt(part * (1 - part) / count);
    return std::min(n - 1, static_cast<std::size_t>(std::max(0.0, std::ceil(at * count) - 1)));
}

/// Whether this part of the days, and no smaller one, may end with that day.
bool mayEndAt(const std::vector<double>& sorted, double part, double from, double to)
{
    const auto upTo = [&](double day) {
        return static_cast<double>(std::ranges::upper_bound(sorted, day) - sorted.begin()) / static_cast<double>(sorted.size());
    };
    const double error = std::sqrt(part * (1 - part) * (1 / static_cast<double>(sorted.size()) + 1 / kPageMeters));
    return upTo(to) >= part - kBeyondNoise * error && upTo(from - 1) <= part + kBeyondNoise * error;
}

} // namespace

double ManyWards::meters() const
{
    double meters = 0;
    for (const auto& ward : wards)
        meters += static_cast<double>(ward.size());
    return meters;
}

ManyWards simulateMany(test::SimulatedWard ward, int howMany, const stats::UsualSettings& settings)
{
    ManyWards many { {}, ward.days };
    for (int i = 0; i < howMany; ++i, ++ward.seed)
        many.wards.push_back(test::simulate(ward, settings));
    return many;
}

PageFigure page(double value, int decimals)
{
    return { value, value, std::pow(10.0, -decimals) / 2, written(value, decimals) };
}

PageFigure page(double from, double to, int decimals)
{
    return { from, to, std::pow(10.0, -decimals) / 2, written(from, decimals) + " to " + written(to, decimals) };
}

SimulatedFigure meanOf(const ManyWards& many, const PageFigure& page, const OfMeter& of)
{
    double all = 0, n = 0;
    std::vector<std::pair<double, double>> sums; // of a ward, and of how many meters
    for (const auto& ward : many.wards) {
        double sum = 0, count = 0;
        for (const auto& meter : ward)
            if (const auto value = of(meter)) {
                sum += *value;
                ++count;
            }
        sums.emplace_back(sum, count);
        all += sum;
        n += count;
    }
    SimulatedFigure figure;
    figure.value = all / n;
    double squares = 0;
    for (const auto& [sum, count] : sums)
        squares += (sum - count * figure.value) * (sum - count * figure.value);
    figure.error = std::max(std::sqrt(squares) / n, 1 / n); // never 0: what was not seen may be
    const double off = std::max({ 0.0, page.from - page.half - figure.value, figure.value - page.to - page.half });
    figure.differs = off > kBeyondNoise * figure.error * std::sqrt(1 + n / kPageMeters);
    const int decimals = figure.error < 0.01 ? 3 : figure.error < 0.1 ? 2 : 1;
    figure.text = written(figure.value, decimals) + " ± " + written(figure.error, decimals + (figure.error < 0.001 ? 1 : 0));
    return figure;
}

SimulatedFigure quantileOf(const ManyWards& many, double part, const PageFigure& page, const OfMeter& of, double perDay)
{
    std::vector<double> days;
    for (const auto& ward : many.wards)
        for (const auto& meter : ward)
            if (const auto day = of(meter))
                days.push_back(*day);
    std::ranges::sort(days);
    SimulatedFigure figure;
    figure.value = days[placeOf(part, days.size(), 0)];
    const auto shown = [&](double errors) {
        const double day = days[placeOf(part, days.size(), errors)];
        return perDay > 0 ? written(day * perDay, 1) : written(day, 0);
    };
    figure.text = shown(0) + " (" + shown(-1.96) + " to " + shown(1.96) + ")";
    figure.differs = perDay > 0
        ? !mayEndAt(days, part, std::floor((page.from - page.half) / perDay), std::ceil((page.to + page.half) / perDay))
        : !mayEndAt(days, part, page.from, page.to);
    return figure;
}

} // namespace mk::bench
