// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/policy_file.h"

#include <QJsonDocument>
#include <QJsonObject>

namespace mk::exchange {

base::Result<std::vector<std::pair<std::string, std::string>>> readPolicyFile(std::string_view bytes, const std::string& fileName)
{
    QJsonParseError error;
    const QJsonDocument document = QJsonDocument::fromJson(QByteArray(bytes.data(), static_cast<qsizetype>(bytes.size())), &error);
    if (error.error != QJsonParseError::NoError)
        return base::badInput(fileName + " is not JSON: " + error.errorString().toStdString() + " at byte " + std::to_string(error.offset));
    if (!document.isObject())
        return base::badInput(fileName + " must hold one JSON object of settings, such as {\"clearance_hours\": \"24\"}");
    std::vector<std::pair<std::string, std::string>> settings;
    const QJsonObject object = document.object();
    for (auto each = object.begin(); each != object.end(); ++each) {
        const QJsonValue value = each.value();
        const bool whole = value.isDouble() && value.toDouble() == static_cast<double>(value.toInteger());
        if (!value.isString() && !whole)
            return base::badInput(fileName + ": the setting '" + each.key().toStdString() + "' must be a text or a whole number");
        settings.emplace_back(each.key().toStdString(), value.isString() ? value.toString().toStdString() : std::to_string(value.toInteger()));
    }
    return settings;
}

} // namespace mk::exchange
