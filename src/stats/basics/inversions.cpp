// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/inversions.h"

#include <algorithm>
#include <cstddef>

namespace mk::stats {

namespace {

/// Merges [from, middle) and [middle, to) into the target; meet(left, rest) is called for each entry of the right part with the left
/// entries that are larger than it.
template <typename Meet>
void mergeInversions(const std::vector<std::uint32_t>& source, std::vector<std::uint32_t>& target, std::size_t from, std::size_t middle,
    std::size_t to, Meet meet)
{
    std::size_t left = from;
    std::size_t right = middle;
    std::size_t out = from;
    while (left < middle && right < to) {
        const std::uint32_t l = source[left];
        const std::uint32_t r = source[right];
        const bool fromRight = r < l;
        target[out++] = fromRight ? r : l;
        meet(fromRight, left, right);
        right += fromRight ? 1 : 0;
        left += fromRight ? 0 : 1;
    }
    const auto at = [](std::size_t i) { return static_cast<std::ptrdiff_t>(i); };
    std::copy(source.begin() + at(left), source.begin() + at(middle), target.begin() + at(out));
    std::copy(source.begin() + at(right), source.begin() + at(to), target.begin() + at(out + middle - left));
}

/// Merge sort from below. meet(source, middle, fromRight, left, right): as above, with the array merged from and the left part's end
template <typename Meet>
void sortInversions(std::vector<std::uint32_t>& sequence, Meet meet)
{
    const std::size_t n = sequence.size();
    std::vector<std::uint32_t> other(n);
    for (std::size_t width = 1; width < n; width *= 2) {
        for (std::size_t from = 0; from < n; from += 2 * width) {
            const std::size_t middle = std::min(n, from + width);
            const std::size_t to = std::min(n, from + 2 * width);
            mergeInversions(sequence, other, from, middle, to,
                [&](bool fromRight, std::size_t left, std::size_t right) { meet(sequence, middle, fromRight, left, right); });
        }
        sequence.swap(other);
    }
}

} // namespace

std::uint64_t countInversions(std::vector<std::uint32_t> sequence)
{
    std::uint64_t count = 0;
    sortInversions(sequence, [&count](const auto&, std::size_t middle, bool fromRight, std::size_t left, std::size_t) {
        count += fromRight ? middle - left : 0;
    });
    return count;
}

std::vector<std::pair<std::uint32_t, std::uint32_t>> pickInversions(
    std::vector<std::uint32_t> sequence, std::span<const std::uint64_t> places)
{
    std::vector<std::pair<std::uint32_t, std::uint32_t>> picked;
    picked.reserve(places.size());
    std::uint64_t count = 0;
    sortInversions(sequence, [&](const auto& source, std::size_t middle, bool fromRight, std::size_t left, std::size_t right) {
        if (!fromRight)
            return;
        const std::uint64_t end = count + (middle - left);
        while (picked.size() < places.size() && places[picked.size()] < end)
            picked.emplace_back(source[left + (places[picked.size()] - count)], source[right]);
        count = end;
    });
    return picked;
}

} // namespace mk::stats
