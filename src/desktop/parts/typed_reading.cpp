// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/typed_reading.h"

#include <QRegularExpression>

namespace mk::desktop {

using registry::Reading;

namespace {

bool matches(const QRegularExpression& expression, const QString& text)
{
    return expression.match(text).hasMatch();
}

} // namespace

base::Result<Reading> readTyped(const QString& typed)
{
    QString text = typed.trimmed().toUpper();
    text.replace(QChar(u','), QChar(u'.'));
    if (text.startsWith(QChar(u'E')) && text.size() > 1 && !text.startsWith(QStringLiteral("ERR:")))
        return Reading(registry::ErrorCode { text.toStdString() });
    return registry::parseReading(text.toStdString());
}

QValidator::State ReadingValidator::validate(QString& input, int&) const
{
    static const QRegularExpression kWhole(QStringLiteral("^(\\d{1,6}(\\.\\d{1,4})?|HI|LO|E[A-Z0-9:.-]{1,11})$"));
    static const QRegularExpression kBegun(QStringLiteral("^(\\d{1,6}\\.?|H|L|E)?$"));
    input = input.toUpper();
    input.replace(QChar(u','), QChar(u'.'));
    if (matches(kWhole, input))
        return Acceptable;
    return matches(kBegun, input) ? Intermediate : Invalid;
}

base::SetId newSetId(const base::MeterId& meter, base::Moment at, const registry::Zone& zone)
{
    const std::string text = base::toText(zone.at(at.utcMs));
    return base::SetId(meter.value + "/" + text.substr(0, 13) + text.substr(14, 2));
}

} // namespace mk::desktop
