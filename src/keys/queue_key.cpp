// SPDX-License-Identifier: GPL-3.0-or-later
#include "keys/queue_key.h"

#include "keys/secret_service.h"

#include <QDir>
#include <QFile>

#include <sodium.h>

#include <algorithm>
#include <fcntl.h>
#include <unistd.h>

namespace mk::keys {

namespace {

using store::OutboxKey;

const QString kName = QStringLiteral("queue key");

std::optional<OutboxKey> keyIn(std::string bytes)
{
    OutboxKey key;
    const bool whole = bytes.size() == key.bytes.size();
    if (whole)
        std::ranges::transform(bytes, key.bytes.begin(), [](char c) { return static_cast<unsigned char>(c); });
    sodium_memzero(bytes.data(), bytes.size());
    return whole ? std::optional(key) : std::nullopt;
}

std::string bytesOf(const OutboxKey& key)
{
    return { key.bytes.begin(), key.bytes.end() };
}

std::optional<OutboxKey> keyOfFile(const QString& path)
{
    QFile file(path);
    return file.open(QIODevice::ReadOnly) ? keyIn(file.readAll().toStdString()) : std::nullopt;
}

/// Nobody else may read it at any moment, and a key that stands there is never written over.
bool keepInFile(const QString& path, const OutboxKey& key)
{
    const int file = ::open(QFile::encodeName(path).constData(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (file < 0)
        return false;
    std::string bytes = bytesOf(key);
    const bool written = ::write(file, bytes.data(), bytes.size()) == static_cast<ssize_t>(bytes.size()) && ::fsync(file) == 0;
    sodium_memzero(bytes.data(), bytes.size());
    ::close(file);
    if (!written)
        QFile::remove(path);
    return written;
}

} // namespace

base::Result<std::vector<OutboxKey>> queueKeys(const QString& configFolder, bool service)
{
    const QString path = configFolder + QStringLiteral("/queue.key");
    std::vector<OutboxKey> keys;
    if (service)
        if (auto secret = secretNow(kName))
            if (auto key = keyIn(std::move(*secret)))
                keys.push_back(*key);
    if (const auto key = keyOfFile(path))
        keys.push_back(*key); // of a time without a service
    if (!keys.empty())
        return keys;
    const OutboxKey fresh = OutboxKey::fresh();
    if (!(service && keepSecretNow(kName, bytesOf(fresh))) && !(QDir().mkpath(configFolder) && keepInFile(path, fresh)))
        return base::fault(base::FaultKind::Io,
            "the key of this workstation's queue can be kept neither in the system's key store nor in %1; nothing can be kept here. Use the paper form",
            path.toStdString());
    return std::vector { fresh };
}

} // namespace mk::keys
