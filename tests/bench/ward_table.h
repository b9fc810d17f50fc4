// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/ward_simulator.h"

#include <functional>
#include <optional>
#include <string>
#include <vector>

/// Figures of a page beside those of simulated wards, with their noise.
namespace mk::bench {

/// So many wards alike, with the seeds from the ward's own on.
struct ManyWards {
    std::vector<std::vector<test::SimulatedMeter>> wards;
    int days = 0;

    double meters() const;
};
ManyWards simulateMany(test::SimulatedWard ward, int howMany, const stats::UsualSettings& settings = {});

/// What a page says. half   half a unit of its last place; a range where it gives one
struct PageFigure {
    double from = 0, to = 0, half = 0;
    std::string text {};
};
PageFigure page(double value, int decimals);
PageFigure page(double from, double to, int decimals);

/// What a meter adds to a figure; nothing where it is none of those asked about.
using OfMeter = std::function<std::optional<double>(const test::SimulatedMeter&)>;

/// error     one standard error of a mean, from the spread between the wards
/// text      with its noise: a mean with its standard error, a quantile with its 95 % interval
/// differs   by more than three standard errors of both beyond the rounding of the page, whose own noise is that of 3,000 meters
struct SimulatedFigure {
    double value = 0, error = 0;
    std::string text {};
    bool differs = false;
};
SimulatedFigure meanOf(const ManyWards& many, const PageFigure& page, const OfMeter& of);
/// Of whole days: the smallest one by which that part was there.
/// perDay   what a day stands for, where the page says that; 0: days
SimulatedFigure quantileOf(const ManyWards& many, double part, const PageFigure& page, const OfMeter& of, double perDay = 0);

} // namespace mk::bench
