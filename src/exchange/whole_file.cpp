// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/whole_file.h"

#include <QFile>
#include <QFileInfo>

namespace mk::exchange {

base::Result<std::string> readWholeFile(const std::string& path, std::size_t most)
{
    const QFileInfo info(QString::fromStdString(path));
    if (info.exists() && !info.isFile() && !path.starts_with("/dev/")) // /dev/stdin is a person's choice
        return base::badInput(path + " is no file; name one");
    QFile file(info.filePath());
    if (!file.open(QIODevice::ReadOnly))
        return base::badInput(path + " cannot be read; check the path and its rights");
    std::string bytes = file.read(static_cast<qint64>(most) + 1).toStdString();
    if (bytes.size() > most)
        return base::badInput(path + " is larger than "
            + (most >> 20U > 0 ? std::to_string(most >> 20U) + " MiB" : std::to_string(most >> 10U) + " KiB")
            + "; check that it is the right file, or split it");
    return bytes;
}

} // namespace mk::exchange
