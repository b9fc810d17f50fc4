// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"

#include <QString>
#include <QValidator>

#include <span>

/// What is asked of a typed result before it is saved. Nothing here judges; the registry does.
namespace mk::desktop {

/// The typed text as a reading: digits with at most one point, HI, LO, or the error code as the display shows it (E-4).
/// A decimal comma reads as a point. errors BadInput
base::Result<registry::Reading> readTyped(const QString& typed);

/// Lets through what can become a reading, and turns it into the form in which it is stored.
class ReadingValidator final : public QValidator {
    Q_OBJECT

public:
    using QValidator::QValidator;
    State validate(QString& input, int& position) const override;
};

/// The other level whose range holds a value that lies far outside the chosen one's; handbook 4.4.
/// Far: further from the nearest bound than the chosen range is wide.
std::optional<registry::Level> otherLevelOf(const registry::Reading& reading, registry::Level chosen, std::span<const SheetLevel> levels);

/// A number that is unlikely in its unit; handbook 10.4. mg/dL: with a point, or below 10. mmol/L: without one, or above 40.
bool unlikelyIn(base::GlucoseUnit unit, const registry::Reading& reading);

/// "M-11/2026-11-18T0647"
base::SetId newSetId(const base::MeterId& meter, base::Moment at, const registry::Zone& zone);

} // namespace mk::desktop
