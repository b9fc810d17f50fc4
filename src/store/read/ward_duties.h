// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/new_material.h"
#include "registry/month/month_due.h"
#include "store/read/board.h"

namespace mk::store {

/// What waits on the wards of a board, beside its meters: vials that owe a control, months that nobody has signed.
struct WardDuties {
    std::vector<registry::VialDebt> vials;
    std::vector<registry::MonthSignature> months;
};

base::Result<WardDuties> wardDuties(Reader& reader, const std::vector<BoardRow>& rows, base::Moment at);

} // namespace mk::store
