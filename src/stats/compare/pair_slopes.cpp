// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/pair_slopes.h"

#include "base/wide_decimal.h"
#include "stats/basics/inversions.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <random>

namespace mk::stats {

namespace {

using PointOrder = std::vector<std::uint32_t>;

/// A point turned by 45 degrees: u = x + y, v = y - x. Of two points with du > 0, dv / du rises from minus infinity at slope -1 over
/// the vertical to infinity at slope -1 again: the order of Passing and Bablok is the plain order of slopes in u and v.
struct TurnedPoint {
    std::int64_t u = 0;
    std::int64_t v = 0;

    friend auto operator<=>(const TurnedPoint&, const TurnedPoint&) = default;
};

/// A slope dv / du in the turned plane, du > 0.
struct TurnedSlope {
    std::int64_t du = 1;
    std::int64_t dv = 0;

    friend bool operator<(const TurnedSlope& a, const TurnedSlope& b)
    {
        return static_cast<base::WideInt>(a.dv) * b.du < static_cast<base::WideInt>(b.dv) * a.du;
    }
};

/// Back to dy / dx; infinity for what is vertical or below -1, all of which gives no line.
double plainSlope(const TurnedSlope& slope)
{
    const std::int64_t twiceDx = slope.du - slope.dv;
    return twiceDx > 0 ? static_cast<double>(slope.du + slope.dv) / static_cast<double>(twiceDx) : std::numeric_limits<double>::infinity();
}

/// Points by u, then v, moved so that both begin at 0.
/// narrow   products of their coordinates fit into 64 bits
struct TurnedPoints {
    std::vector<TurnedPoint> points;
    bool narrow = true;

    TurnedSlope slope(std::uint32_t a, std::uint32_t b) const
    {
        const auto [lower, upper] = std::minmax(a, b);
        return { points[upper].u - points[lower].u, points[upper].v - points[lower].v };
    }
};

TurnedPoints turnPoints(std::span<const GridPoint> points)
{
    TurnedPoints turned;
    turned.points.reserve(points.size());
    TurnedPoint least { std::numeric_limits<std::int64_t>::max(), std::numeric_limits<std::int64_t>::max() };
    for (const GridPoint& point : points) {
        turned.points.push_back({ point.x + point.y, point.y - point.x });
        least.u = std::min(least.u, turned.points.back().u);
        least.v = std::min(least.v, turned.points.back().v);
    }
    constexpr std::int64_t kNarrow = 1LL << 30;
    for (TurnedPoint& point : turned.points) {
        point.u -= least.u;
        point.v -= least.v;
        turned.narrow = turned.narrow && point.u < kNarrow && point.v < kNarrow;
    }
    std::ranges::sort(turned.points);
    return turned;
}

std::uint64_t pairsAmong(std::uint64_t n)
{
    return n < 2 ? 0 : n * (n - 1) / 2;
}

/// Pairs within runs of neighbours that are the same. same(i, j): of two positions
template <typename Same>
std::uint64_t pairsInRuns(std::size_t n, Same same)
{
    std::uint64_t pairs = 0;
    for (std::size_t from = 0, to = 0; from < n; from = to) {
        for (to = from + 1; to < n && same(from, to); ++to) { }
        pairs += pairsAmong(to - from);
    }
    return pairs;
}

std::uint64_t usedSlopes(const TurnedPoints& turned)
{
    const auto& points = turned.points;
    return pairsAmong(points.size()) - pairsInRuns(points.size(), [&](std::size_t i, std::size_t j) { return points[i].u == points[j].u; });
}

/// The points as their lines v - s u are ordered just before and just after a slope s.
/// below, equal   how many slopes are below s and are s
struct OrdersAtSlope {
    PointOrder before;
    PointOrder after;
    std::uint64_t below = 0;
    std::uint64_t equal = 0;
};

/// Turns round a group of points on one line, but leaves identical points in their order: they never change places.
void turnGroup(const std::vector<TurnedPoint>& points, PointOrder& order, std::size_t from, std::size_t to)
{
    const auto at = [&order](std::size_t i) { return order.begin() + static_cast<std::ptrdiff_t>(i); };
    std::reverse(at(from), at(to));
    for (std::size_t begin = from, end = from; begin < to; begin = end) {
        for (end = begin + 1; end < to && points[order[end]].u == points[order[begin]].u; ++end) { }
        std::reverse(at(begin), at(end));
    }
}

/// The sequence of an order in terms of places in another: its inversions are the slopes that lie between the two.
PointOrder placesIn(const PointOrder& base, const PointOrder& order)
{
    PointOrder place(base.size());
    for (std::uint32_t i = 0; i < base.size(); ++i)
        place[base[i]] = i;
    PointOrder sequence(order.size());
    std::ranges::transform(order, sequence.begin(), [&place](std::uint32_t point) { return place[point]; });
    return sequence;
}

/// start   an order at a smaller slope, and how many slopes are not beyond it
template <typename Key>
OrdersAtSlope ordersAt(const TurnedPoints& turned, const TurnedSlope& slope, const PointOrder& start, std::uint64_t belowStart)
{
    struct Keyed {
        Key key;
        std::uint32_t point;
    };
    const auto& points = turned.points;
    std::vector<Keyed> keyed(points.size());
    std::ranges::transform(start, keyed.begin(), [&](std::uint32_t point) {
        return Keyed { static_cast<Key>(points[point].v) * slope.du - static_cast<Key>(points[point].u) * slope.dv, point };
    });
    std::ranges::sort(keyed, [](const Keyed& a, const Keyed& b) { return a.key != b.key ? a.key < b.key : a.point < b.point; });

    OrdersAtSlope orders;
    orders.before.resize(points.size());
    std::ranges::transform(keyed, orders.before.begin(), [](const Keyed& one) { return one.point; });
    orders.after = orders.before;
    orders.below = belowStart + countInversions(placesIn(start, orders.before));
    for (std::size_t from = 0, to = 0; from < keyed.size(); from = to) {
        for (to = from + 1; to < keyed.size() && keyed[to].key == keyed[from].key; ++to) { }
        if (to - from < 2)
            continue;
        orders.equal += pairsAmong(to - from) - pairsInRuns(to - from, [&](std::size_t i, std::size_t j) {
            return points[keyed[from + i].point].u == points[keyed[from + j].point].u;
        });
        turnGroup(points, orders.after, from, to);
    }
    return orders;
}

OrdersAtSlope ordersAt(const TurnedPoints& turned, const TurnedSlope& slope, const PointOrder& start, std::uint64_t belowStart)
{
    return turned.narrow ? ordersAt<std::int64_t>(turned, slope, start, belowStart)
                         : ordersAt<base::WideInt>(turned, slope, start, belowStart);
}

/// An open interval of slopes with the ranks that lie in it.
/// low, high        orders just after its lower end and just before its upper end
/// below, inside    how many slopes lie below it, and in it
struct SlopeBracket {
    PointOrder low;
    PointOrder high;
    std::uint64_t below = 0;
    std::uint64_t inside = 0;
    std::span<const std::uint64_t> ranks;
};

/// Places spread over [0, inside), one at random in each of as many equal parts: sorted without sorting.
std::vector<std::uint64_t> spreadPlaces(std::uint64_t inside, std::size_t count, std::mt19937_64& random)
{
    std::vector<std::uint64_t> places(count);
    const double part = static_cast<double>(inside) / static_cast<double>(count);
    for (std::size_t i = 0; i < count; ++i) {
        const double within = static_cast<double>(random() >> 11U) * 0x1p-53;
        places[i] = std::min(inside - 1, static_cast<std::uint64_t>((static_cast<double>(i) + within) * part));
    }
    return places;
}

std::vector<TurnedSlope> slopesIn(const TurnedPoints& turned, const SlopeBracket& bracket, std::span<const std::uint64_t> places)
{
    const auto picked = pickInversions(placesIn(bracket.low, bracket.high), places);
    std::vector<TurnedSlope> slopes;
    slopes.reserve(picked.size());
    for (const auto& [a, b] : picked)
        slopes.push_back(turned.slope(bracket.low[a], bracket.low[b]));
    return slopes;
}

/// Places in a sorted sample between which the bracket's ranks lie, three standard errors to each side; ranks close together share them.
std::vector<std::size_t> pivotPlaces(const SlopeBracket& bracket, std::size_t sample)
{
    std::vector<std::size_t> places;
    const auto size = static_cast<double>(sample);
    for (const std::uint64_t rank : bracket.ranks) {
        const double share = (static_cast<double>(rank - bracket.below) - 0.5) / static_cast<double>(bracket.inside);
        const double reach = 3 * std::sqrt(size * share * (1 - share)) + 2;
        const auto lower = static_cast<std::size_t>(std::max(0.0, share * size - reach));
        const auto upper = static_cast<std::size_t>(std::min(size - 1, share * size + reach));
        if (!places.empty() && lower <= places.back())
            places.back() = upper;
        else
            places.insert(places.end(), { lower, upper });
    }
    return places;
}

std::vector<TurnedSlope> pivotsOf(const TurnedPoints& turned, const SlopeBracket& bracket, std::size_t sample, std::mt19937_64& random)
{
    auto slopes = slopesIn(turned, bracket, spreadPlaces(bracket.inside, sample, random));
    std::vector<TurnedSlope> pivots;
    auto from = slopes.begin();
    for (const std::size_t place : pivotPlaces(bracket, sample)) {
        const auto at = slopes.begin() + static_cast<std::ptrdiff_t>(place);
        if (at >= from)
            std::nth_element(from, at, slopes.end());
        if (pivots.empty() || pivots.back() < *at)
            pivots.push_back(*at);
        from = std::max(from, at);
    }
    return pivots;
}

/// Nothing for infinity; -0 becomes 0, so that equal slopes are the same number.
std::optional<double> finiteSlope(double slope)
{
    return std::isfinite(slope) ? std::optional(slope + 0.0) : std::nullopt;
}

/// Every slope of a bracket, written out, gives the rest of the answers. Rounded slopes have the order of the exact ones.
void answerFromList(const TurnedPoints& turned, const SlopeBracket& bracket, std::vector<std::optional<double>>& answers)
{
    std::vector<std::uint64_t> places(bracket.inside);
    std::iota(places.begin(), places.end(), 0U);
    const auto turnedSlopes = slopesIn(turned, bracket, places);
    std::vector<double> slopes(turnedSlopes.size());
    std::ranges::transform(turnedSlopes, slopes.begin(), plainSlope);
    auto from = slopes.begin();
    for (const std::uint64_t rank : bracket.ranks) {
        const auto at = slopes.begin() + static_cast<std::ptrdiff_t>(rank - bracket.below - 1);
        std::nth_element(from, at, slopes.end());
        answers.push_back(finiteSlope(*at));
        from = at;
    }
}

void answerBracket(const TurnedPoints& turned, SlopeBracket bracket, std::mt19937_64& random, std::vector<std::optional<double>>& answers);

/// Cuts a bracket at the pivots; ranks that fall on a pivot are answered, the others go on in the pieces.
void cutBracket(const TurnedPoints& turned, SlopeBracket bracket, std::span<const TurnedSlope> pivots, std::mt19937_64& random,
    std::vector<std::optional<double>>& answers)
{
    const std::uint64_t end = bracket.below + bracket.inside;
    const auto upTo = [&bracket](std::uint64_t count) {
        const auto taken = bracket.ranks.first(
            static_cast<std::size_t>(std::ranges::upper_bound(bracket.ranks, count) - bracket.ranks.begin()));
        bracket.ranks = bracket.ranks.subspan(taken.size());
        return taken;
    };
    for (const TurnedSlope& pivot : pivots) {
        if (bracket.ranks.empty())
            return;
        OrdersAtSlope orders = ordersAt(turned, pivot, bracket.low, bracket.below);
        if (const auto ranks = upTo(orders.below); !ranks.empty()) {
            answerBracket(turned, { std::move(bracket.low), std::move(orders.before), bracket.below, orders.below - bracket.below, ranks },
                random, answers);
        }
        answers.insert(answers.end(), upTo(orders.below + orders.equal).size(), finiteSlope(plainSlope(pivot)));
        bracket.low = std::move(orders.after);
        bracket.below = orders.below + orders.equal;
    }
    if (!bracket.ranks.empty()) {
        bracket.inside = end - bracket.below;
        answerBracket(turned, std::move(bracket), random, answers);
    }
}

/// Answers the ranks of a bracket, in their order.
void answerBracket(const TurnedPoints& turned, SlopeBracket bracket, std::mt19937_64& random, std::vector<std::optional<double>>& answers)
{
    const std::size_t n = turned.points.size();
    if (bracket.inside <= 6 * n) {
        answerFromList(turned, bracket, answers);
        return;
    }
    const auto pivots = pivotsOf(turned, bracket, n, random);
    cutBracket(turned, std::move(bracket), pivots, random, answers);
}

PointOrder firstOrder(std::size_t n)
{
    PointOrder order(n);
    std::iota(order.begin(), order.end(), 0U);
    return order;
}

} // namespace

std::uint64_t countUsedSlopes(std::span<const GridPoint> points)
{
    return usedSlopes(turnPoints(points));
}

PairSlopeCounts countPairSlopes(std::span<const GridPoint> points)
{
    const TurnedPoints turned = turnPoints(points);
    const auto& sorted = turned.points;
    const std::size_t n = sorted.size();
    const OrdersAtSlope vertical = ordersAt(turned, { 1, 1 }, firstOrder(n), 0);
    PairSlopeCounts counts;
    counts.used = usedSlopes(turned);
    counts.identical = pairsInRuns(n, [&](std::size_t i, std::size_t j) { return sorted[i] == sorted[j]; });
    counts.minusOne = pairsAmong(n) - counts.used - counts.identical;
    counts.vertical = vertical.equal;
    counts.below = counts.used - vertical.below - vertical.equal;
    return counts;
}

std::vector<std::optional<double>> selectPairSlopes(std::span<const GridPoint> points, std::span<const std::uint64_t> ranks)
{
    const TurnedPoints turned = turnPoints(points);
    const std::size_t n = turned.points.size();
    SlopeBracket all { firstOrder(n), firstOrder(n), 0, usedSlopes(turned), ranks };
    turnGroup(turned.points, all.high, 0, n);
    std::mt19937_64 random(n); // the answer is exact whatever comes; only the time depends on it
    std::vector<std::optional<double>> answers;
    if (!ranks.empty())
        answerBracket(turned, std::move(all), random, answers);
    return answers;
}

ListedSlopes listPairSlopes(std::span<const GridPoint> points)
{
    const std::size_t n = points.size();
    std::vector<double> x(n);
    std::vector<double> y(n);
    std::ranges::transform(points, x.begin(), [](const GridPoint& point) { return static_cast<double>(point.x); });
    std::ranges::transform(points, y.begin(), [](const GridPoint& point) { return static_cast<double>(point.y); });
    ListedSlopes list;
    list.above.resize(pairsAmong(n) + 1);
    std::size_t above = 0;
    for (std::size_t i = 0; i < n; ++i) {
        for (std::size_t j = i + 1; j < n; ++j) {
            // Identical points give NaN, which no comparison takes; vertical ones infinity of either sign.
            const double slope = (y[j] - y[i]) / (x[j] - x[i]);
            list.above[above] = slope;
            above += slope > -1 ? 1 : 0;
            list.used += (slope < -1 ? 1U : 0U);
        }
    }
    list.above.resize(above);
    list.used += above;
    return list;
}

std::vector<std::optional<double>> slopesAtRanks(ListedSlopes& list, std::span<const std::uint64_t> ranks)
{
    std::vector<std::optional<double>> answers;
    auto from = list.above.begin();
    for (const std::uint64_t rank : ranks) {
        if (rank > list.above.size()) {
            answers.emplace_back();
            continue;
        }
        const auto at = list.above.begin() + static_cast<std::ptrdiff_t>(rank - 1);
        std::nth_element(from, at, list.above.end());
        answers.push_back(finiteSlope(*at));
        from = at;
    }
    return answers;
}

} // namespace mk::stats
