// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/queue/kept_record.h"

#include "store/journal/act_codec.h"

namespace mk::store {

using base::Fault;
using base::FaultKind;
using base::Result;

namespace {

/// A time as it is stored everywhere: whole seconds with their offset.
std::optional<base::Moment> momentOf(const Json& object)
{
    const auto read = base::parseTimeText(memberText(object, "since"));
    return read && read->hasOffset ? std::optional(base::momentOf(read->wall, read->offsetMinutes)) : std::nullopt;
}

} // namespace

std::string memberText(const Json& object, std::string_view key)
{
    const Json* member = object.find(key);
    return member != nullptr && member->text() != nullptr ? *member->text() : std::string();
}

std::string plainOf(const KeptActs& kept)
{
    Json::Array acts;
    for (const auto& act : kept.acts)
        acts.push_back(Json::object()
                           .set("kind", Json(std::string(registry::kindOf(act.act))))
                           .set("id", Json(act.id))
                           .set("body", bodyOf(act.act, false)));
    return Json::object()
        .set("what", Json(std::string("kept")))
        .set("since", Json(base::toText(kept.since)))
        .set("meter", Json(kept.meter.value))
        .set("person", Json(kept.author.person.value))
        .set("station", Json(kept.author.station))
        .set("acts", Json(std::move(acts)))
        .canonical();
}

Result<KeptActs> keptOf(std::uint64_t number, const Json& record)
{
    const auto unreadable = [&] {
        return base::fault(FaultKind::Damaged, "a record of the queue cannot be read; it comes from another version of Meterkeep");
    };
    const auto since = momentOf(record);
    const Json* acts = record.find("acts");
    if (!since || acts == nullptr || acts->array() == nullptr)
        return unreadable();
    KeptActs kept { number, {}, base::MeterId(memberText(record, "meter")),
        { base::OperatorId(memberText(record, "person")), memberText(record, "station") }, *since };
    for (const auto& each : *acts->array()) {
        const Json* body = each.find("body");
        auto act = body == nullptr ? Result<registry::Act>(unreadable()) : actFrom(memberText(each, "kind"), *body);
        if (!act)
            return unreadable();
        kept.acts.push_back({ std::move(act).value(), memberText(each, "id"), *since });
    }
    return kept;
}

} // namespace mk::store
