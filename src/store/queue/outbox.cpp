// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/queue/outbox.h"

#include "store/queue/kept_record.h"

#include <QDir>
#include <QFile>
#include <QLockFile>

#include <sodium.h>

#include <algorithm>
#include <cerrno>
#include <fcntl.h>
#include <unistd.h>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;

namespace {

// The file: magic, an id of its own, a fingerprint of its key; then records: length of the sealed bytes (4, little end first), nonce,
// sealed bytes.
constexpr std::string_view kMagic = "MKQUEUE1";
constexpr std::size_t kIdBytes = 16;
constexpr std::size_t kHead = kMagic.size() + 2 * kIdBytes;
constexpr std::size_t kNonce = crypto_aead_xchacha20poly1305_ietf_NPUBBYTES;
constexpr std::size_t kTag = crypto_aead_xchacha20poly1305_ietf_ABYTES;
constexpr std::size_t kLongest = 1 << 20;

const unsigned char* raw(const std::string& text)
{
    return reinterpret_cast<const unsigned char*>(text.data());
}
unsigned char* raw(std::string& text)
{
    return reinterpret_cast<unsigned char*>(text.data());
}

std::string littleEnd(std::uint64_t number, int bytes)
{
    std::string text;
    for (int i = 0; i < bytes; ++i)
        text += static_cast<char>(number >> (8 * i) & 0xff);
    return text;
}

std::string hashOf(const std::string& what, const unsigned char* key, std::size_t keyBytes)
{
    std::string hash(kIdBytes, '\0');
    crypto_generichash(raw(hash), hash.size(), raw(what), what.size(), key, keyBytes);
    return hash;
}

Fault ioFault(const std::string& path, const QString& said)
{
    const bool full = errno == ENOSPC || errno == EDQUOT;
    return base::fault(full ? FaultKind::Full : FaultKind::Io,
        "the queue of this workstation, %1, cannot be written (%2); nothing was kept. Use the paper form", path, said.toStdString());
}

bool toDisk(QFile& file)
{
    return file.flush() && ::fsync(file.handle()) == 0;
}

/// A new or replaced name is lost by a power cut unless its folder is on the disk too.
void folderToDisk(const std::string& path)
{
    const int folder = ::open(path.substr(0, path.rfind('/')).c_str(), O_RDONLY | O_DIRECTORY);
    if (folder >= 0) {
        ::fsync(folder);
        ::close(folder);
    }
}

} // namespace

OutboxKey::~OutboxKey()
{
    sodium_memzero(bytes.data(), bytes.size());
}

OutboxKey OutboxKey::fresh()
{
    static const int ready = sodium_init();
    static_cast<void>(ready);
    OutboxKey key;
    randombytes_buf(key.bytes.data(), key.bytes.size());
    return key;
}

Outbox::Outbox(std::string path, std::string place, const OutboxKey& key) : m_path(std::move(path)), m_place(std::move(place)), m_key(key)
{
}
Outbox::~Outbox() = default;

namespace {

std::string pathOf(const std::string& folder, const std::string& place)
{
    constexpr std::string_view kDigits = "0123456789abcdef";
    std::string name;
    for (const char c : hashOf(place, nullptr, 0)) {
        name += kDigits[static_cast<unsigned char>(c) >> 4];
        name += kDigits[static_cast<unsigned char>(c) & 15];
    }
    return folder + "/queue-" + name + ".mkq";
}

} // namespace

bool Outbox::holdsSomething(const std::string& folder, const std::string& place)
{
    return sodium_init() >= 0 && QFile(QString::fromStdString(pathOf(folder, place))).size() > 0;
}

Result<std::unique_ptr<Outbox>> Outbox::open(const std::string& folder, const std::string& place, const OutboxKey& key)
{
    if (sodium_init() < 0)
        return base::fault(FaultKind::Io, "libsodium did not start; nothing can be kept on this workstation");
    if (!QDir().mkpath(QString::fromStdString(folder)))
        return base::fault(FaultKind::Io, "the folder %1 cannot be made; nothing can be kept on this workstation", folder);
    std::unique_ptr<Outbox> outbox(new Outbox(pathOf(folder, place), place, key));
    outbox->m_lock = std::make_unique<QLockFile>(QString::fromStdString(outbox->m_path + ".lock"));
    outbox->m_lock->setStaleLockTime(0);
    if (!outbox->m_lock->tryLock(0))
        return base::fault(FaultKind::Busy,
            "another window of Meterkeep on this workstation keeps the queue of this registry; record there, or use the paper form");
    if (const Done done = outbox->read(); !done)
        return done.error();
    return outbox;
}

std::string Outbox::associated(std::uint64_t number) const
{
    return std::string(kMagic) + m_fileId + hashOf(m_place, nullptr, 0) + littleEnd(number, 8);
}

Done Outbox::read()
{
    m_file = std::make_unique<QFile>(QString::fromStdString(m_path));
    if (!m_file->open(QIODevice::ReadWrite | QIODevice::Unbuffered))
        return ioFault(m_path, m_file->errorString());
    m_file->setPermissions(QFileDevice::ReadOwner | QFileDevice::WriteOwner);
    const std::string bytes = m_file->readAll().toStdString();
    if (bytes.empty())
        return {};
    if (bytes.size() < kHead || !bytes.starts_with(kMagic)) {
        m_trouble = "The queue of this workstation is no queue any more: its beginning is missing or was changed.";
        return mendFile();
    }
    m_fileId = bytes.substr(kMagic.size(), kIdBytes);
    if (bytes.substr(kMagic.size() + kIdBytes, kIdBytes) != hashOf(m_fileId, m_key.bytes.data(), m_key.bytes.size()))
        return base::fault(FaultKind::Denied,
            "the queue %1 is locked with another key than this workstation's. It was left as it is: unlock the system's key store and start again, or tell the person who looks after the workstation",
            m_path);
    return readRecords(bytes);
}

Done Outbox::readRecords(const std::string& bytes)
{
    std::size_t at = kHead;
    while (at < bytes.size()) {
        std::size_t length = 0;
        for (std::size_t i = 0; i < 4 && at + i < bytes.size(); ++i)
            length |= static_cast<std::size_t>(static_cast<unsigned char>(bytes[at + i])) << (8 * i);
        if (at + 4 + kNonce + length > bytes.size() || length < kTag || length > kLongest) {
            m_trouble
                = "The end of this workstation's queue is cut off, as by a power cut. What was cut off had never been said to be kept; look whether the last control stands on the board.";
            return mendFile();
        }
        std::string plain(length - kTag, '\0');
        unsigned long long plainBytes = 0;
        const std::string bound = associated(m_next);
        if (crypto_aead_xchacha20poly1305_ietf_decrypt(raw(plain), &plainBytes, nullptr, raw(bytes) + at + 4 + kNonce, length, raw(bound),
                bound.size(), raw(bytes) + at + 4, m_key.bytes.data())
            != 0) {
            m_trouble = "This workstation's queue was changed from outside at record " + std::to_string(m_next)
                + ". What stood before it is delivered; what stood from there on is not, and must be recorded again from the paper form. Tell the coordinator.";
            return mendFile();
        }
        const Done applied = apply(m_next, plain);
        sodium_memzero(plain.data(), plain.size());
        if (!applied) {
            m_trouble = applied.error().text + ".";
            return mendFile();
        }
        ++m_next;
        at += 4 + kNonce + length;
    }
    return emptyWhereDone();
}

/// What one record says, done to what is known.
Done Outbox::apply(std::uint64_t number, const std::string& plain)
{
    const auto record = Json::parse(plain);
    if (!record)
        return record.error();
    const std::string what = memberText(*record, "what");
    if (what == "kept") {
        auto kept = keptOf(number, *record);
        if (!kept)
            return kept.error();
        m_waiting.push_back(std::move(kept).value());
        return {};
    }
    if (what == "read") {
        m_aside.clear();
        return {};
    }
    const Json* of = record->find("number");
    const auto found = of == nullptr || of->integer() == nullptr
        ? m_waiting.end()
        : std::ranges::find(m_waiting, static_cast<std::uint64_t>(*of->integer()), &KeptActs::number);
    if (found == m_waiting.end() || (what != "delivered" && what != "aside"))
        return base::fault(FaultKind::Damaged, "a record of the queue cannot be read; it comes from another version of Meterkeep");
    if (what == "aside")
        m_aside.push_back({ *found, memberText(*record, "reason") });
    m_waiting.erase(found);
    return {};
}

/// The file cannot be gone on with: it is put beside as it is, and what could be read of it goes into a new one.
Done Outbox::mendFile()
{
    QString beside;
    for (int i = 1; beside.isEmpty() || QFile::exists(beside); ++i)
        beside = QString::fromStdString(m_path + ".damaged-" + std::to_string(i));
    if (::link(m_path.c_str(), QFile::encodeName(beside).constData()) != 0)
        return ioFault(m_path, QStringLiteral("the damaged file has no second name"));
    m_trouble += " The file was put aside as " + beside.toStdString() + ".";
    auto waiting = std::exchange(m_waiting, {});
    auto aside = std::exchange(m_aside, {});
    // All of it in a file of its own first: a power cut leaves the one or the other.
    const QString whole = QString::fromStdString(m_path + ".new");
    QFile::remove(whole);
    m_file = std::make_unique<QFile>(whole);
    if (!m_file->open(QIODevice::ReadWrite | QIODevice::Unbuffered))
        return ioFault(m_path, m_file->errorString());
    m_file->setPermissions(QFileDevice::ReadOwner | QFileDevice::WriteOwner);
    m_next = 1;
    for (auto& refused : aside) {
        const std::string reason = refused.reason;
        if (const Done done = keep(refused.kept.acts, refused.kept.meter, refused.kept.author, refused.kept.since); !done)
            return done;
        if (const Done done = setAside(m_waiting.back().number, reason); !done)
            return done;
    }
    for (auto& kept : waiting)
        if (const Done done = keep(kept.acts, kept.meter, kept.author, kept.since); !done)
            return done;
    if (!toDisk(*m_file) || ::rename(QFile::encodeName(whole).constData(), m_path.c_str()) != 0)
        return ioFault(m_path, QStringLiteral("not replaced"));
    folderToDisk(m_path);
    return {};
}

Done Outbox::startFile()
{
    m_fileId.resize(kIdBytes);
    randombytes_buf(m_fileId.data(), m_fileId.size());
    m_next = 1;
    const std::string head = std::string(kMagic) + m_fileId + hashOf(m_fileId, m_key.bytes.data(), m_key.bytes.size());
    if (!m_file->seek(0) || m_file->write(head.data(), static_cast<qint64>(head.size())) != static_cast<qint64>(head.size()))
        return ioFault(m_path, m_file->errorString());
    folderToDisk(m_path);
    return {};
}

Done Outbox::write(const std::string& plain)
{
    if (plain.size() + kTag > kLongest)
        return base::badInput("that is too much for one record of the queue; use the paper form");
    const qint64 before = m_file->size();
    // Half a record would hide the ones that follow: what could not be written whole is taken back.
    const auto takeBack = [&](const Fault& fault) {
        m_file->resize(before);
        return fault;
    };
    if (before == 0)
        if (const Done started = startFile(); !started)
            return takeBack(started.error());
    std::string sealed(plain.size() + kTag, '\0');
    std::string nonce(kNonce, '\0');
    randombytes_buf(nonce.data(), nonce.size());
    const std::string bound = associated(m_next);
    unsigned long long length = 0;
    crypto_aead_xchacha20poly1305_ietf_encrypt(
        raw(sealed), &length, raw(plain), plain.size(), raw(bound), bound.size(), nullptr, raw(nonce), m_key.bytes.data());
    const std::string record = littleEnd(length, 4) + nonce + sealed;
    errno = 0;
    if (!m_file->seek(m_file->size())
        || m_file->write(record.data(), static_cast<qint64>(record.size())) != static_cast<qint64>(record.size()) || !toDisk(*m_file))
        return takeBack(ioFault(m_path, m_file->errorString()));
    return {};
}

Done Outbox::keep(std::span<const NewAct> acts, const base::MeterId& meter, const Author& author, base::Moment since)
{
    KeptActs kept { m_next, { acts.begin(), acts.end() }, meter, author, since };
    std::string plain = plainOf(kept);
    const Done written = write(plain);
    sodium_memzero(plain.data(), plain.size());
    if (!written)
        return written;
    kept.number = m_next++; // a new file begins to count anew
    for (auto& act : kept.acts)
        act.keptSince = since;
    m_waiting.push_back(std::move(kept));
    return {};
}

Done Outbox::writeSettled(const std::string& what, std::uint64_t number, const std::string& reason)
{
    Json record = Json::object().set("what", Json(what)).set("number", Json(static_cast<std::int64_t>(number)));
    if (!reason.empty())
        record.set("reason", Json(reason));
    const std::string plain = record.canonical();
    if (const Done written = write(plain); !written)
        return written;
    return apply(m_next++, plain);
}

Done Outbox::delivered(std::uint64_t number)
{
    const Done done = writeSettled("delivered", number, {});
    return done ? emptyWhereDone() : done;
}

Done Outbox::setAside(std::uint64_t number, const std::string& reason)
{
    return writeSettled("aside", number, reason);
}

Done Outbox::readAll()
{
    if (m_aside.empty())
        return {};
    const std::string plain = Json::object().set("what", Json(std::string("read"))).canonical();
    if (const Done written = write(plain); !written)
        return written;
    ++m_next;
    m_aside.clear();
    return emptyWhereDone();
}

/// Nothing waits and nothing is to be read: the next record begins a new file.
Done Outbox::emptyWhereDone()
{
    if (!m_waiting.empty() || !m_aside.empty() || m_file->size() == 0)
        return {};
    m_next = 1;
    return m_file->resize(0) && toDisk(*m_file) ? Done() : Done(ioFault(m_path, m_file->errorString()));
}

} // namespace mk::store
