// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/signed_month.h"
#include "registry/terms/zone.h"

#include <QStringList>

/// A month's signatures in plain text.
namespace mk::words {

/// Who signed what and when, and what came after it, a line each.
QStringList signatureLines(const registry::SignedReview& review, const registry::Zone& zone);

} // namespace mk::words
