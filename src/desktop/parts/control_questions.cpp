// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/control_questions.h"

#include <QRegularExpression>

#include <algorithm>

namespace mk::desktop {

using registry::Level;
using registry::Reading;

namespace {

constexpr double kLeastMgPerDl = 10;
constexpr double kMostMmolPerL = 40;

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

std::optional<Level> otherLevelOf(const Reading& reading, Level chosen, std::span<const SheetLevel> levels)
{
    const auto* number = std::get_if<base::Decimal>(&reading);
    const auto mine = std::ranges::find(levels, chosen, &SheetLevel::level);
    if (number == nullptr || mine == levels.end() || !mine->range)
        return std::nullopt;
    const auto& range = mine->range->act;
    const double value = number->toDouble();
    const double width = range.high.toDouble() - range.low.toDouble();
    const double outside = std::max(range.low.toDouble() - value, value - range.high.toDouble());
    if (outside <= width)
        return std::nullopt;
    for (const auto& other : levels)
        if (other.level != chosen && other.range && other.range->act.low <= *number && *number <= other.range->act.high)
            return other.level;
    return std::nullopt;
}

bool unlikelyIn(base::GlucoseUnit unit, const Reading& reading)
{
    const auto* number = std::get_if<base::Decimal>(&reading);
    if (number == nullptr)
        return false;
    if (unit == base::GlucoseUnit::MgPerDl)
        return number->decimals() > 0 || number->toDouble() < kLeastMgPerDl;
    return number->decimals() == 0 || number->toDouble() > kMostMmolPerL;
}

base::SetId newSetId(const base::MeterId& meter, base::Moment at, const registry::Zone& zone)
{
    const std::string text = base::toText(zone.at(at.utcMs));
    return base::SetId(meter.value + "/" + text.substr(0, 13) + text.substr(14, 2));
}

} // namespace mk::desktop
