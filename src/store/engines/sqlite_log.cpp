// SPDX-License-Identifier: GPL-3.0-or-later
// The format of the write-ahead log is that of https://www.sqlite.org/fileformat2.html#the_write_ahead_log.
#include "store/engines/sqlite_log.h"

#include <QFile>
#include <QThread>
#include <QtEndian>

#include <optional>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;

namespace {

constexpr qint64 kHeader = 32, kFrameHeader = 24;
constexpr quint32 kMagic = 0x377f0682; // its last bit: checksums of big-endian words

quint32 wordAt(const QByteArray& bytes, qsizetype at)
{
    return qFromBigEndian<quint32>(bytes.constData() + at);
}

struct Sum {
    quint32 first = 0, second = 0;
    bool operator==(const Sum&) const = default;
};

Sum sumOf(Sum sum, const char* bytes, qsizetype count, bool bigEndian)
{
    for (qsizetype i = 0; i + 8 <= count; i += 8) {
        const auto word = [&](qsizetype at) {
            return bigEndian ? qFromBigEndian<quint32>(bytes + at) : qFromLittleEndian<quint32>(bytes + at);
        };
        sum.first += word(i) + sum.second;
        sum.second += word(i + 4) + sum.first;
    }
    return sum;
}

/// One frame of the log: its page, and whether it ends a transaction.
struct Frame {
    bool ofThisLog = false; ///< not of an earlier use of the same file
    bool commits = false;
    bool follows = false; ///< from the frame before it, by its checksum
    Sum stored;
};

class Log {
public:
    explicit Log(const QString& path) : m_file(path) { }

    /// Is a frame spoilt that a later transaction was written behind, which is only done once the earlier one is on the disk?
    bool isDamaged()
    {
        if (!m_file.open(QIODevice::ReadOnly) || m_file.size() <= kHeader + kFrameHeader)
            return false; // none, or none that was used; what cannot be read SQLite tells
        m_header = m_file.read(kHeader);
        m_bigEndian = (wordAt(m_header, 0) & 1) != 0;
        Sum sum = sumOf({}, m_header.constData(), 24, m_bigEndian);
        // The header is synced before the first frame is written.
        if ((wordAt(m_header, 0) & ~1U) != kMagic || sum != Sum { wordAt(m_header, 24), wordAt(m_header, 28) })
            return true;
        bool whole = true;
        bool committed = false;
        while (const auto frame = next(sum)) {
            if (whole && !(frame->ofThisLog && frame->follows))
                whole = false;
            else if (!whole && !frame->ofThisLog)
                return false;
            else if (!whole && committed && frame->follows)
                return true;
            committed = frame->commits;
            sum = frame->stored;
        }
        return false;
    }

private:
    std::optional<Frame> next(Sum before)
    {
        const qint64 page = wordAt(m_header, 8);
        const QByteArray bytes = m_file.read(kFrameHeader + page);
        if (bytes.size() < kFrameHeader + page)
            return std::nullopt;
        Frame frame;
        frame.ofThisLog = wordAt(bytes, 8) == wordAt(m_header, 16) && wordAt(bytes, 12) == wordAt(m_header, 20);
        frame.commits = wordAt(bytes, 4) != 0;
        frame.stored = { wordAt(bytes, 16), wordAt(bytes, 20) };
        const Sum sum = sumOf(before, bytes.constData(), 8, m_bigEndian);
        frame.follows = sumOf(sum, bytes.constData() + kFrameHeader, page, m_bigEndian) == frame.stored;
        return frame;
    }

    QFile m_file;
    QByteArray m_header;
    bool m_bigEndian = false;
};

} // namespace

Done checkLog(const std::string& path)
{
    const QString log = QString::fromStdString(path + "-wal");
    // Another program may be writing to it at this moment, and begin it anew: then a second look is another one.
    for (int look = 0; look < 3; ++look) {
        if (!Log(log).isDamaged())
            return {};
        QThread::msleep(10);
    }
    return base::fault(FaultKind::Damaged,
        "%1: its log (%1-wal) is damaged, and entries that were recorded last cannot be read. Keep both files as they are and restore a backup",
        path);
}

} // namespace mk::store
