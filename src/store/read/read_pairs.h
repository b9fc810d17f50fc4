// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/read/reader.h"

namespace mk::store {

/// The comparisons on which a meter's fitness rests at that moment: from the newest passed one on where that is enough to tell, else all.
/// What a meter has of them grows for years, and the board asks for each meter.
base::Result<std::vector<registry::PairRecord>> pairsThatCount(Reader& reader, const base::MeterId& meter, base::Moment at);

} // namespace mk::store
