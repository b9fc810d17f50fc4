// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/journal/act_codec.h"

#include "store/journal/act_fields.h"

#include <charconv>
#include <cmath>
#include <cstdlib>
#include <utility>

namespace mk::store {

namespace {

using namespace registry;
using base::Fault;
using base::FaultKind;

const ReadContext& plainContext()
{
    // Stored times carry their offset, so the zone is never asked.
    static const Zone utc = Zone::utc();
    static const ReadContext context { &utc, nullptr };
    return context;
}

template <typename T>
concept Textual = requires(const T& t)
{
    TextForm<T>::write(t);
};
template <typename T>
concept Packed = requires
{
    T::kPacked;
}
|| std::is_same_v<T, acts::JudgedRun> || std::is_same_v<T, acts::LevelBias> || std::is_same_v<T, acts::DriftFinding>;

// Writing.

struct Packer;
template <typename T>
Json packed(const T& value);

Json toJson(bool value)
{
    return Json(value);
}
Json toJson(int value)
{
    return Json(std::int64_t { value });
}
Json toJson(std::int64_t value)
{
    return Json(value);
}
Json toJson(double value)
{
    return Json(exactText(value));
}
Json toJson(base::Seq value)
{
    return Json(value.value);
}
template <Textual T>
Json toJson(const T& value)
{
    return Json(TextForm<T>::write(value));
}
template <Packed T>
Json toJson(const T& value)
{
    return packed(value);
}
template <typename T>
Json toJson(const std::vector<T>& values)
{
    Json::Array items;
    for (const auto& value : values)
        items.push_back(toJson(value));
    return Json(std::move(items));
}

/// Absent facts, empty lists and false flags are left out: the shortest body that says the same.
struct Packer {
    Json object = Json::object();

    template <typename T>
    void operator()(std::string_view name, const T& value)
    {
        object.set(name, toJson(value));
    }
    void operator()(std::string_view name, const bool& value)
    {
        if (value)
            object.set(name, Json(true));
    }
    template <typename T>
    void operator()(std::string_view name, const std::optional<T>& value)
    {
        if (value)
            object.set(name, toJson(*value));
    }
    template <typename T>
    void operator()(std::string_view name, const std::vector<T>& values)
    {
        if (!values.empty())
            object.set(name, toJson(values));
    }
};

template <typename T>
Json packed(const T& value)
{
    Packer packer;
    pack(packer, value, static_cast<const T*>(nullptr));
    return std::move(packer.object);
}

struct DescribedWriter {
    Json object = Json::object();

    template <typename T>
    void operator()(std::string_view name, const T& value, acts::Field)
    {
        object.set(name, Json(TextForm<T>::write(value)));
    }
    template <typename T>
    void operator()(std::string_view name, const std::optional<T>& value, acts::Field)
    {
        if (value)
            object.set(name, Json(TextForm<T>::write(*value)));
    }
};

// Reading. Each returns false where the value cannot be what it should.

template <typename T>
bool unpack(const Json& json, T& value);

bool fromJson(const Json& json, bool& into)
{
    const auto* value = json.boolean();
    return value != nullptr && ((into = *value), true);
}
bool fromJson(const Json& json, std::int64_t& into)
{
    const auto* value = json.integer();
    return value != nullptr && ((into = *value), true);
}
bool fromJson(const Json& json, int& into)
{
    const auto* value = json.integer();
    return value != nullptr && std::in_range<int>(*value) && ((into = static_cast<int>(*value)), true);
}
bool fromJson(const Json& json, base::Seq& into)
{
    return fromJson(json, into.value);
}
bool fromJson(const Json& json, double& into)
{
    const auto* text = json.text();
    if (text == nullptr)
        return false;
    const auto [end, error] = std::from_chars(text->data(), text->data() + text->size(), into);
    return error == std::errc() && end == text->data() + text->size() && std::isfinite(into);
}
template <Textual T>
bool fromJson(const Json& json, T& into)
{
    const auto* text = json.text();
    if (text == nullptr)
        return false;
    auto value = TextForm<T>::read(*text, plainContext());
    if (!value)
        return false;
    into = std::move(value).value();
    return true;
}
template <Packed T>
bool fromJson(const Json& json, T& into)
{
    return unpack(json, into);
}
template <typename T>
bool fromJson(const Json& json, std::vector<T>& into)
{
    const auto* items = json.array();
    if (items == nullptr)
        return false;
    for (const auto& item : *items)
        if (!fromJson(item, into.emplace_back()))
            return false;
    return true;
}

struct Unpacker {
    const Json& object;
    std::string missing;

    template <typename T>
    void operator()(std::string_view name, T& value)
    {
        const Json* json = object.find(name);
        if (json == nullptr || !fromJson(*json, value))
            missing = std::string(name);
    }
    void operator()(std::string_view name, bool& value)
    {
        const Json* json = object.find(name);
        value = false;
        if (json != nullptr && !fromJson(*json, value))
            missing = std::string(name);
    }
    template <typename T>
    void operator()(std::string_view name, std::optional<T>& value)
    {
        const Json* json = object.find(name);
        value.reset();
        if (json != nullptr && !fromJson(*json, value.emplace()))
            missing = std::string(name);
    }
    template <typename T>
    void operator()(std::string_view name, std::vector<T>& values)
    {
        const Json* json = object.find(name);
        values.clear();
        if (json != nullptr && !fromJson(*json, values))
            missing = std::string(name);
    }
};

template <typename T>
bool unpack(const Json& json, T& value)
{
    if (json.members() == nullptr)
        return false;
    Unpacker reader { json, {} };
    pack(reader, value, static_cast<const T*>(nullptr));
    return reader.missing.empty();
}

struct DescribedReader {
    const Json& object;
    std::string missing;

    template <typename T>
    void operator()(std::string_view name, T& value, acts::Field)
    {
        const Json* json = object.find(name);
        if (json == nullptr || json->text() == nullptr || !take(*json->text(), value))
            missing = std::string(name);
    }
    template <typename T>
    void operator()(std::string_view name, std::optional<T>& value, acts::Field)
    {
        const Json* json = object.find(name);
        value.reset();
        if (json != nullptr && (json->text() == nullptr || !take(*json->text(), value.emplace())))
            missing = std::string(name);
    }

private:
    template <typename T>
    static bool take(const std::string& text, T& value)
    {
        auto read = TextForm<T>::read(text, plainContext());
        if (!read)
            return false;
        value = std::move(read).value();
        return true;
    }
};

Json policyBody(const acts::PolicyChanged& policy)
{
    Json settings = Json::object();
    for (const auto& [key, text] : policy.settings)
        settings.set(key, Json(text));
    Json body = Json::object();
    body.set("version", Json(policy.version)).set("settings", std::move(settings));
    if (policy.from)
        body.set("from", Json(base::toText(*policy.from)));
    if (policy.by)
        body.set("operator", Json(policy.by->value));
    if (policy.reason)
        body.set("reason", Json(*policy.reason));
    return body;
}

bool readPolicy(const Json& body, acts::PolicyChanged& policy)
{
    const Json* version = body.find("version");
    const Json* settings = body.find("settings");
    const Json* from = body.find("from");
    if (version == nullptr || !fromJson(*version, policy.version) || settings == nullptr || settings->members() == nullptr)
        return false;
    for (const auto& [key, text] : *settings->members()) {
        if (text.text() == nullptr)
            return false;
        policy.settings.emplace_back(key, *text.text());
    }
    const Json* by = body.find("operator");
    const Json* reason = body.find("reason");
    if ((by != nullptr && !fromJson(*by, policy.by.emplace())) || (reason != nullptr && !fromJson(*reason, policy.reason.emplace())))
        return false;
    return from == nullptr || fromJson(*from, policy.from.emplace());
}

template <typename A>
constexpr bool kIsDescribed = requires(DescribedWriter& w, const A& a)
{
    A::describe(w, a);
};

/// The kinds under which an act is stored.
template <typename A>
bool isKind(std::string_view kind)
{
    if constexpr (std::is_same_v<A, acts::SetJudged>)
        return kind == A::kind || kind == A::kindRevised;
    else if constexpr (std::is_same_v<A, acts::MeterStopped>)
        return kind == A::kindHeld || kind == A::kindWithdrawn;
    else
        return kind == A::kind;
}

template <typename A>
base::Result<Act> readAct(std::string_view kind, const Json& body)
{
    A act;
    std::string missing;
    if constexpr (std::is_same_v<A, acts::PolicyChanged>) {
        if (!readPolicy(body, act))
            missing = "settings";
    } else if constexpr (kIsDescribed<A>) {
        DescribedReader reader { body, {} };
        A::describe(reader, act);
        missing = reader.missing;
    } else {
        Unpacker reader { body, {} };
        pack(reader, act, static_cast<const A*>(nullptr));
        missing = reader.missing;
    }
    if (!missing.empty())
        return base::fault(FaultKind::Damaged, "an entry of kind %1 has no readable '%2'; run verify", base::asCode(kind), missing);
    Act read(std::move(act));
    if (kindOf(read) != kind) // two acts have two kinds each, and say in their body which
        return base::fault(
            FaultKind::Damaged, "an entry of kind %1 has the body of a %2; run verify", base::asCode(kind), base::asCode(kindOf(read)));
    return read;
}

template <std::size_t I = 0>
base::Result<Act> readActOfKind(std::string_view kind, const Json& body)
{
    if constexpr (I == std::variant_size_v<Act>) {
        return base::fault(FaultKind::Damaged, "no act is called '%1'; run verify", base::asCode(kind));
    } else {
        using A = std::variant_alternative_t<I, Act>;
        return isKind<A>(kind) ? readAct<A>(kind, body) : readActOfKind<I + 1>(kind, body);
    }
}

} // namespace

Json bodyOf(const Act& act, bool imported)
{
    Json body = std::visit(
        [](const auto& a) {
            using A = std::decay_t<decltype(a)>;
            if constexpr (std::is_same_v<A, acts::PolicyChanged>) {
                return policyBody(a);
            } else if constexpr (kIsDescribed<A>) {
                DescribedWriter writer;
                A::describe(writer, a);
                return std::move(writer.object);
            } else {
                return packed(a);
            }
        },
        act);
    if (imported)
        body.set("imported", Json(true));
    return body;
}

base::Result<Act> actFrom(std::string_view kind, const Json& body)
{
    if (body.members() == nullptr)
        return base::fault(FaultKind::Damaged, "an entry's body is no JSON object; run verify");
    return readActOfKind(kind, body);
}

base::Result<Act> actFromBody(std::string_view kind, std::string_view body)
{
    const auto json = Json::parse(body);
    return json ? actFrom(kind, *json) : base::Result<Act>(json.error());
}

bool isImported(const Json& body)
{
    const Json* mark = body.find("imported");
    return mark != nullptr && mark->boolean() != nullptr && *mark->boolean();
}

bool saysImported(std::string_view body)
{
    return body.find("\"imported\":true") != std::string_view::npos; // inside a text the quotes would be escaped
}

namespace {

constexpr std::string_view kKept = "\"kept_since\":\""; // inside a text the quotes would be escaped

} // namespace

void markKept(Json& body, base::Moment since)
{
    body.set("kept_since", Json(base::toText(since)));
}

std::optional<base::Moment> keptSince(std::string_view body)
{
    const auto at = body.find(kKept);
    if (at == std::string_view::npos)
        return std::nullopt;
    body.remove_prefix(at + kKept.size());
    const auto read = base::parseTimeText(body.substr(0, body.find('"')));
    return read && read->hasOffset ? std::optional(base::momentOf(read->wall, read->offsetMinutes)) : std::nullopt;
}

namespace {

/// member  with its quotes and colon, up to the quote that begins its text
std::string withoutMember(const std::string& body, std::string_view member)
{
    const auto at = body.find(member);
    if (at == std::string::npos)
        return body;
    const auto end = body.find('"', at + member.size());
    // One of the commas beside it goes with it.
    const bool followed = body[end + 1] == ',';
    const std::size_t first = followed || body[at - 1] != ',' ? at : at - 1;
    return body.substr(0, first) + body.substr(end + 1 + (followed ? 1 : 0));
}

} // namespace

std::string withoutKept(const std::string& body)
{
    // The program writes these two as well (acts::Field::Program).
    return withoutMember(withoutMember(withoutMember(body, kKept), R"("typed_at":")"), R"("waits":")");
}

std::string driftText(const acts::DriftFinding& drift)
{
    return packed(drift).canonical();
}

base::Result<acts::DriftFinding> driftFrom(std::string_view text)
{
    const auto json = Json::parse(text);
    acts::DriftFinding drift;
    if (!json || !unpack(*json, drift))
        return base::fault(FaultKind::Damaged, "a stored drift finding cannot be read; run verify");
    return drift;
}

std::string exactText(double value)
{
    char buffer[32];
    const auto end = std::to_chars(buffer, buffer + sizeof buffer, value).ptr;
    return std::string(buffer, end);
}

} // namespace mk::store
