// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/run_length.h"

#include "stats/basics/distributions.h"
#include "stats/basics/gauss_legendre.h"

#include <cmath>
#include <cstddef>
#include <utility>
#include <vector>

namespace mk::stats {

namespace {

/// A square system of linear equations, row by row, and its right side.
struct RunLengthSystem {
    std::size_t size = 0;
    std::vector<double> matrix;
    std::vector<double> right;

    double& at(std::size_t row, std::size_t column) { return matrix[row * size + column]; }
};

RunLengthSystem runLengthSystem(std::size_t size)
{
    return { size, std::vector<double>(size * size, 0.0), std::vector<double>(size, 1.0) };
}

void swapRunLengthRows(RunLengthSystem& system, std::size_t a, std::size_t b)
{
    for (std::size_t column = 0; a != b && column < system.size; ++column)
        std::swap(system.at(a, column), system.at(b, column));
    std::swap(system.right[a], system.right[b]);
}

/// Takes the multiple of the pivot's row from every row below, so that the pivot's column is 0 there.
void eliminateRunLength(RunLengthSystem& system, std::size_t pivot)
{
    std::size_t largest = pivot;
    for (std::size_t row = pivot + 1; row < system.size; ++row) {
        if (std::abs(system.at(row, pivot)) > std::abs(system.at(largest, pivot)))
            largest = row;
    }
    swapRunLengthRows(system, pivot, largest);
    for (std::size_t row = pivot + 1; row < system.size; ++row) {
        const double factor = system.at(row, pivot) / system.at(pivot, pivot);
        for (std::size_t column = pivot; column < system.size; ++column)
            system.at(row, column) -= factor * system.at(pivot, column);
        system.right[row] -= factor * system.right[pivot];
    }
}

/// Gaussian elimination with row pivots. A singular system gives values that are not finite.
std::vector<double> solvedRunLengths(RunLengthSystem system)
{
    for (std::size_t pivot = 0; pivot < system.size; ++pivot)
        eliminateRunLength(system, pivot);
    for (std::size_t row = system.size; row-- > 0;) {
        for (std::size_t column = row + 1; column < system.size; ++column)
            system.right[row] -= system.at(row, column) * system.right[column];
        system.right[row] /= system.at(row, row);
    }
    return system.right;
}

/// L(s) = 1 + L(0) P(S falls to 0) + integral from 0 to h of L(x) phi(x - s + k - shift) dx, for the upper CUSUM from s = 0.
double upperCusum(double k, double h, double shift, std::size_t nodes)
{
    const Quadrature rule = gaussLegendre(nodes, 0, h);
    RunLengthSystem system = runLengthSystem(nodes + 1);
    for (std::size_t row = 0; row <= nodes; ++row) {
        const double from = row == 0 ? 0 : rule.nodes[row - 1];
        system.at(row, 0) = -normalAbove(from - k + shift);
        for (std::size_t i = 0; i < nodes; ++i)
            system.at(row, i + 1) = -rule.weights[i] * normalDensity(rule.nodes[i] - from + k - shift);
        system.at(row, row) += 1;
    }
    return solvedRunLengths(std::move(system))[0];
}

/// L(u) = 1 + 1 / lambda * integral over the limits of L(x) phi((x - (1 - lambda) u) / lambda - shift) dx, from u = 0.
double ewmaFromTarget(double lambda, double limit, double shift, std::size_t nodes)
{
    const Quadrature rule = gaussLegendre(nodes, -limit, limit);
    RunLengthSystem system = runLengthSystem(nodes + 1); // the first unknown is L(0) itself
    for (std::size_t row = 0; row <= nodes; ++row) {
        const double from = row == 0 ? 0 : rule.nodes[row - 1];
        for (std::size_t i = 0; i < nodes; ++i)
            system.at(row, i + 1) = -rule.weights[i] / lambda * normalDensity((rule.nodes[i] - (1 - lambda) * from) / lambda - shift);
        system.at(row, row) += 1;
    }
    return solvedRunLengths(std::move(system))[0];
}

/// span: how wide the range of the chart is, in SD of one step
std::size_t runLengthNodes(double span)
{
    return 30 + static_cast<std::size_t>(std::ceil(6 * span));
}

/// solve: gives the run length for a number of nodes
template <typename Solve>
base::Result<double> agreedRunLength(double span, Solve solve)
{
    const std::size_t nodes = runLengthNodes(span);
    const double length = solve(nodes);
    const double again = solve(nodes + 7);
    if (!(std::isfinite(length) && length >= 1 && std::abs(length - again) <= 1e-6 * length))
        return base::badInput("the average run length cannot be computed to six digits here; choose narrower limits");
    return length;
}

bool isRunLengthWithin(double value, double least, double most)
{
    return value >= least && value <= most; // not so for NaN
}

} // namespace

base::Result<double> cusumRunLength(double k, double h, double shift, CusumSides sides)
{
    if (!isRunLengthWithin(k, 0, 5))
        return base::badInput("the CUSUM's slack k must be 0 to 5 SD");
    if (!(h > 0 && h <= 30))
        return base::badInput("the CUSUM's decision limit h must be above 0, at most 30 SD");
    if (!isRunLengthWithin(shift, -10, 10))
        return base::badInput("the shift must be between -10 and 10 SD");
    const auto ofSide = [&](double sideShift) {
        return agreedRunLength(h, [&](std::size_t nodes) { return upperCusum(k, h, sideShift, nodes); });
    };
    // The side that the shift leads away from may need longer than can be computed; then it never comes first.
    const auto upper = ofSide(shift);
    if (sides == CusumSides::One)
        return upper;
    const auto lower = ofSide(-shift);
    if (upper && lower)
        return 1 / (1 / *upper + 1 / *lower);
    if (shift > 0 && upper)
        return upper;
    return lower;
}

base::Result<double> ewmaRunLength(double lambda, double width, double shift)
{
    if (!isRunLengthWithin(lambda, 0.001, 1))
        return base::badInput("the EWMA's weight lambda must be 0.001 to 1");
    if (!(width > 0 && width <= 10))
        return base::badInput("the EWMA's width must be above 0, at most 10 SD");
    if (!isRunLengthWithin(shift, -10, 10))
        return base::badInput("the shift must be between -10 and 10 SD");
    const double limit = width * std::sqrt(lambda / (2 - lambda));
    return agreedRunLength(2 * limit / lambda, [&](std::size_t nodes) { return ewmaFromTarget(lambda, limit, shift, nodes); });
}

} // namespace mk::stats
