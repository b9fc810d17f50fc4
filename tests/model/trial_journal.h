// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "model/ward_reference.h"

#include "store/journal/journal.h"
#include "store/registrar/registrar.h"

/// What the registry's own journal says of a transaction: what it stored, added, and did by itself.
namespace mk::model {

/// A refused movement leaves one note about itself and nothing else (story S44).
bool isNoteOfRefusal(store::Session& session, const store::Head& before, const store::Head& after, const registry::Act& refused);

/// What was sent with what the registry says in it by itself: what a signature has seen, what waits, since when a range holds.
registry::Act asStored(const registry::Act& sent, const registry::Act& stored);
std::string bodyAsStored(store::Session& session, const registry::Act& sent, base::Seq seq);

/// What the registry did to vials, lots and meters by itself.
/// returns  what cannot be read, in words; else empty
std::string followed(store::Session& session, std::int64_t before, std::int64_t head, const std::vector<store::Outcome>& outcomes,
    Reference::Followed& found);

/// How an act stands to the second person that handbook 17.12 asks for; empty where it has nothing to do with one.
std::string partOfSecond(const Reference& reference, const registry::Act& act, std::int64_t now);

} // namespace mk::model
