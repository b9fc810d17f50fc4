// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/text_form.h"
#include "registry/zone.h"
#include "store/reader.h"
#include "store/registrar.h"
#include "store/session.h"

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>

namespace mk::cli {

/// The options that every registry command knows.
struct Globals {
    std::string registry;
    std::string person;               ///< empty: not given
    std::optional<std::string> at;
    std::optional<std::int64_t> asOf;
    bool json = false;
};

/// A registry opened for reading, at the position that --as-of names.
struct OpenRegistry {
    std::unique_ptr<store::Session> session;
    std::optional<store::Reader> reader;
    base::Moment at; ///< what --at says, or now
};

std::string defaultRegistryPath();
std::string stationName();

/// errors  as Session::open; BadInput for --at or --as-of
base::Result<OpenRegistry> openForReading(const Globals& globals);
/// Opened for writing; --as-of has no meaning there and is refused.
base::Result<OpenRegistry> openForWriting(const Globals& globals);

/// The moment of --at in the registry's zone, else now.
base::Result<base::Moment> momentOf(const Globals& globals, const registry::Zone& zone);

} // namespace mk::cli
