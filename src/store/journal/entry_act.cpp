// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/journal/entry_act.h"

#include "store/journal/act_codec.h"
#include "store/journal/journal.h"

namespace mk::store {

using base::Result;
using base::Seq;
using registry::Act;

Result<Act> actOfEntry(Session& session, Seq seq)
{
    const auto entry = entryAt(session, seq);
    if (!entry)
        return entry.error();
    if (!*entry)
        return base::fault(base::FaultKind::NotFound, "the journal has no entry %1", seq.value);
    return actFromBody((*entry)->act, (*entry)->body);
}

} // namespace mk::store
