// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QSet>
#include <QString>
#include <QStringList>

/// Finds what a person reads and no translation reached.
namespace mk::support {

/// Words that stand in the records themselves: ids, names, what somebody typed. What has a column of codes is none of them.
QSet<QString> wordsOfRecords(const QString& folder);

/// The words of a text shown in the pseudo-language that are neither translated nor data.
/// data  words that may stand as they are, beside symbols of the trade (mg/dL, SD, 1-3s, HI …) and whatever holds a digit
QStringList escapedIn(const QString& shown, const QSet<QString>& data);

} // namespace mk::support
