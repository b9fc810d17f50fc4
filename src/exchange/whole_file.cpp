// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/whole_file.h"

#include <QFile>
#include <QFileInfo>

namespace mk::exchange {

base::Result<std::string> readWholeFile(const std::string& path, std::size_t most)
{
    const QFileInfo info(QString::fromStdString(path));
    if (info.exists() && !info.isFile() && !path.starts_with("/dev/")) // /dev/stdin is a person's choice
        return base::badInput("%1 is no file; name one", path);
    QFile file(info.filePath());
    if (!file.open(QIODevice::ReadOnly))
        return base::badInput("%1 cannot be read; check the path and its rights", path);
    std::string bytes = file.read(static_cast<qint64>(most) + 1).toStdString();
    if (bytes.size() > most)
        return most >> 20U > 0
            ? base::badInput("%1 is larger than %2 MiB; check that it is the right file, or split it", path, most >> 20U)
            : base::badInput("%1 is larger than %2 KiB; check that it is the right file, or split it", path, most >> 10U);
    return bytes;
}

} // namespace mk::exchange
