// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/journal/entry_lines.h"

#include "store/journal/canonical_json.h"

namespace mk::store {

std::string lineOf(const Entry& e)
{
    return "{\"act\":" + store::quoted(e.act) + ",\"at\":" + std::to_string(e.at) + ",\"body\":" + e.body
        + ",\"digest\":" + store::quoted(e.digest) + ",\"id\":" + store::quoted(e.id) + ",\"operator\":" + store::quoted(e.person)
        + ",\"prev\":" + store::quoted(e.prev) + ",\"seq\":" + std::to_string(e.seq.value) + ",\"station\":" + store::quoted(e.station)
        + ",\"subject\":" + store::quoted(e.subject) + ",\"zone\":" + store::quoted(e.zone) + "}\n";
}

base::Result<Entry> entryOfLine(std::string_view line)
{
    const auto json = Json::parse(line);
    if (!json)
        return json.error();
    const auto wrong = [&] { return base::badInput("is not an entry of an export"); };
    if (json->members() == nullptr || json->members()->size() != 11)
        return wrong();
    Entry entry;
    bool whole = true;
    const auto text = [&](const char* name, std::string& into) {
        const Json* found = json->find(name);
        whole = whole && found != nullptr && found->text() != nullptr;
        if (whole)
            into = *found->text();
    };
    const auto number = [&](const char* name, std::int64_t& into) {
        const Json* found = json->find(name);
        whole = whole && found != nullptr && found->integer() != nullptr;
        if (whole)
            into = *found->integer();
    };
    number("seq", entry.seq.value), number("at", entry.at);
    text("id", entry.id), text("zone", entry.zone), text("station", entry.station), text("operator", entry.person), text("act", entry.act);
    text("subject", entry.subject), text("prev", entry.prev), text("digest", entry.digest);
    const Json* body = json->find("body");
    if (!whole || body == nullptr || body->members() == nullptr)
        return wrong();
    entry.body = body->canonical();
    return entry;
}

} // namespace mk::store
