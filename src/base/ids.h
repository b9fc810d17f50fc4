// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <compare>
#include <cstdint>
#include <functional>
#include <limits>
#include <string>
#include <utility>

namespace mk::base {

/// An identifier as the ward writes it. Each kind is a type of its own, comparable only to itself.
template <typename Tag>
struct Id {
    std::string value;

    Id() = default;
    explicit Id(std::string text) : value(std::move(text)) { }
    bool empty() const noexcept { return value.empty(); }
    friend auto operator<=>(const Id&, const Id&) = default;
};

using WardId = Id<struct WardTag>;
using ModelId = Id<struct ModelTag>;
using MeterId = Id<struct MeterTag>;
using OperatorId = Id<struct OperatorTag>;
using StripLotId = Id<struct StripLotTag>;
using StripVialId = Id<struct StripVialTag>;
using ControlLotId = Id<struct ControlLotTag>;
using ControlVialId = Id<struct ControlVialTag>;
using SetId = Id<struct SetTag>;
using PairId = Id<struct PairTag>;

/// A place in the journal: 1, 2, 3 … without gaps.
struct Seq {
    std::int64_t value = 0;
    friend auto operator<=>(const Seq&, const Seq&) = default;
};
/// Later than every entry: all that is known.
inline constexpr Seq kNewestSeq { std::numeric_limits<std::int64_t>::max() };

} // namespace mk::base

template <typename Tag>
struct std::hash<mk::base::Id<Tag>> {
    std::size_t operator()(const mk::base::Id<Tag>& id) const noexcept { return std::hash<std::string>()(id.value); }
};
