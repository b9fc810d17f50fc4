// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QSet>
#include <QString>
#include <QStringList>

/// Finds what a person reads and no translation reached.
namespace mk::support {

/// What may stand untranslated since it stands in the records themselves.
struct RecordData {
    QSet<QString> words;    ///< ids and their like, word by word
    QSet<QString> texts {}; ///< what somebody typed, in plain English mostly: only as a whole

    RecordData() = default;
    RecordData(const QSet<QString>& known) : words(known) { }
};

/// What the CSV files of a folder hold. What has a column of codes is none of it.
RecordData dataOfRecords(const QString& folder);

/// The words of a text shown in the pseudo-language that are neither translated nor data.
/// data  what may stand as it is, beside symbols of the trade (mg/dL, SD, 1-3s, HI …), kinds of entries and whatever holds a digit
QStringList escapedIn(const QString& shown, const RecordData& data);
/// The same of what fills the places of translated sentences as well: words within the brackets that wear no accents.
QStringList plainIn(const QString& shown, const RecordData& data);

} // namespace mk::support
