// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"

#include <QString>
#include <QValidator>

/// What is typed for a control, on its way to a reading. What is asked of it, and what it means, the registry says.
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

/// "M-11/2026-11-18T0647"
base::SetId newSetId(const base::MeterId& meter, base::Moment at, const registry::Zone& zone);

} // namespace mk::desktop
