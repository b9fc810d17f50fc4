// SPDX-License-Identifier: GPL-3.0-or-later
// Any kind and body as an entry of the journal, a line each: damaged, or an act that is written back as it stood.
#include "property.h"
#include "registry/acts/free_text.h"
#include "registry/acts/text_bounds.h"
#include "store/journal/act_codec.h"

using namespace mk;
using fuzz::mustHold;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    const std::string_view bytes = fuzz::bytesOf(data, size);
    const auto line = bytes.find('\n');
    if (line == std::string_view::npos)
        return 0;
    const std::string_view kind = bytes.substr(0, line);
    const auto body = store::Json::parse(bytes.substr(line + 1));
    if (!body)
        return 0;
    const auto act = store::actFrom(kind, *body);
    if (!act) {
        mustHold(act.error().kind == base::FaultKind::Damaged, "an entry that cannot be read is damaged", act.error().text);
        return 0;
    }
    mustHold(registry::kindOf(*act) == kind, "an act keeps its kind", kind);
    const store::Json written = store::bodyOf(*act, store::isImported(*body));
    const std::string text = written.canonical();
    const auto again = store::actFrom(kind, written);
    mustHold(bool(again), "what was read can be written and read", again ? text : again.error().text + " in " + text);
    mustHold(store::bodyOf(*again, store::isImported(written)).canonical() == text, "what was written stays", text);
    // These look at every act of a hostile journal before anybody judges it.
    static_cast<void>(registry::keyOf(*act));
    static_cast<void>(registry::subjectOf(*act));
    static_cast<void>(bool(registry::sensibleTexts(*act)));
    static_cast<void>(registry::ownTimeOf(*act));
    static_cast<void>(registry::personOf(*act));
    static_cast<void>(bool(registry::withoutPatientNumbers(*act)));
    return 0;
}
