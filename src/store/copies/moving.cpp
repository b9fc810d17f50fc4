// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/copies/moving.h"

#include "store/db/address.h"
#include "store/copies/copy_files.h"
#include "store/engines/sqlite.h"
#include "store/read/reader.h"

#include <QFileInfo>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;
namespace acts = registry::acts;

namespace {

Result<Copied> copyToServer(Session& source, const MoveRequest& request)
{
    auto target = emptyPlace(request.to, request.password);
    if (!target)
        return target.error();
    auto copied = copyInto(**target, entriesOf(source));
    if (copied)
        if (const Done whole = proveWhole(**target, copied->head.digest); !whole)
            return whole.error();
    return copied;
}

Result<Copied> copyToFile(Session& source, const std::string& place)
{
    if (QFileInfo::exists(QString::fromStdString(place)))
        return base::fault(FaultKind::Conflict, "%1 exists already; name a path where nothing is", place);
    StagedFile staged(place);
    Result<Copied> copied = base::badInput("nothing was copied");
    {
        auto target = Session::create(staged.path());
        if (!target)
            return target.error();
        copied = copyInto(**target, entriesOf(source));
        if (!copied)
            return copied;
        if (const Done whole = proveWhole(**target, copied->head.digest); !whole)
            return whole.error();
        if (const Done folded = SqliteEngine::foldLog(**target); !folded)
            return folded.error();
    }
    if (const Done put = staged.putAt(place); !put)
        return put.error();
    return copied;
}

/// What an earlier move left there: a proven copy to the last entry here, or the reason why it is none.
Result<Copied> alreadyThere(Session& source, const MoveRequest& request, const Fault& conflict)
{
    auto there = Session::open(request.to, Session::Access::ReadOnly, request.password);
    if (!there)
        return conflict;
    const auto theirs = headOf(**there);
    const auto ours = headOf(source);
    if (!theirs || !ours)
        return conflict;
    if (theirs->digest == ours->digest) {
        if (const Done whole = proveWhole(**there, ours->digest); !whole)
            return whole.error();
        return Copied { *ours, 0 };
    }
    const auto same = entryAt(source, theirs->seq);
    if (same && *same && (*same)->digest == theirs->digest)
        return base::fault(FaultKind::Conflict, "%1 holds an older copy of this registry, to entry %2 of %3; take it away, then move again",
            (*there)->place(), theirs->seq.value, ours->seq.value);
    return conflict;
}

} // namespace

Result<Moved> moveRegistry(Session& source, const MoveRequest& request)
{
    const auto address = Address::parse(request.to);
    if (!address)
        return address.error();
    const auto reader = Reader::open(source);
    if (!reader)
        return reader.error();
    // Whoever records here meanwhile waits: an entry behind the copy's last one would be lost.
    if (const Done begun = request.keep ? source.beginRead() : source.begin(); !begun)
        return begun.error();
    const auto end = [&](const Fault& fault) {
        source.rollBack();
        return fault;
    };
    const auto head = headOf(source);
    if (!head)
        return end(head.error());
    if (head->moved && !request.keep)
        return end(movedAway(source, *head));
    Moved moved;
    auto copied = address->isServer() ? copyToServer(source, request) : copyToFile(source, address->file);
    if (!copied && copied.error().kind == FaultKind::Conflict && !request.keep) {
        copied = alreadyThere(source, request, copied.error());
        moved.wasThere = static_cast<bool>(copied);
    }
    if (!copied)
        return end(base::fault(copied.error().kind, "the registry was not moved, it goes on here: %1", copied.error()));
    if (copied->head.digest != head->digest)
        return end(base::fault(FaultKind::Damaged, "the registry was not moved, it goes on here: the copy ends with another entry"));
    moved.head = copied->head;
    moved.secretsLeft = copied->secretsLeft;
    moved.place = address->isServer() ? address->inWords()
                                      : QFileInfo(QString::fromStdString(address->file)).absoluteFilePath().toStdString();
    if (request.keep) {
        source.rollBack();
        return moved;
    }
    const auto closed = appendHere(source,
        acts::RegistryMoved { reader->zone().at(request.clock()), moved.place, moved.head.seq, moved.head.digest }, request.author,
        request.clock());
    if (!closed)
        return end(base::fault(closed.error().kind,
            "the copy in %1 holds, but the registry here could not be closed and goes on: %2. Do not record there; move again once this is mended",
            moved.place, closed.error()));
    if (const Done committed = source.commit(); !committed)
        return end(committed.error());
    moved.closed = closed->seq;
    return moved;
}

} // namespace mk::store
