// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as one of a registry's CSV files; the first byte picks which. What is taken over can be exported and taken over again, and
// its journal entry reads back.
#include "exchange/registry_csv.h"
#include "exchange/registry_files.h"
#include "property.h"
#include "store/journal/act_codec.h"

#include <algorithm>

using namespace mk;
using fuzz::mustHold;

namespace {

std::vector<std::string> fileNames()
{
    std::vector<std::string> names;
    for (const auto& file : exchange::registryFiles({}))
        names.push_back(file.name);
    return names;
}

void readsBackFromTheJournal(const registry::Act& act)
{
    const store::Json body = store::bodyOf(act, true);
    const std::string text = body.canonical();
    const auto parsed = store::Json::parse(text);
    mustHold(bool(parsed), "a row's entry is canonical JSON", parsed ? text : parsed.error().text + " in " + text);
    const auto back = store::actFrom(registry::kindOf(act), *parsed);
    mustHold(bool(back), "a row's entry can be read", back ? text : back.error().text + " in " + text);
    mustHold(store::bodyOf(*back, true).canonical() == text, "a row's entry reads the same", text);
    mustHold(registry::keyOf(*back) == registry::keyOf(act), "an entry keeps its key", text);
    mustHold(store::isImported(*parsed) && store::saysImported(text), "an entry says that it was taken over", text);
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    static const std::vector<std::string> names = fileNames();
    static const auto zone = registry::Zone::named("Europe/Berlin");
    if (!zone)
        return 0;
    std::string_view bytes = fuzz::bytesOf(data, size);
    const std::string& name = names[fuzz::choice(bytes, names.size())];
    const auto file = exchange::readRegistryFile(name, bytes, *zone);
    mustHold(file.file == name, "the report names its file");
    for (const auto& row : file.rejected)
        mustHold(row.line > 0 && !base::plainly(row.fault).empty(), "a rejected row says where and why");
    std::vector<registry::Act> acts;
    for (const auto& row : file.rows) {
        readsBackFromTheJournal(row.act);
        acts.push_back(row.act);
    }
    const auto written = exchange::registryFiles(acts);
    const auto mine = std::ranges::find(written, name, &exchange::WrittenFile::name);
    mustHold(mine != written.end() && mine->rows == acts.size(), "every act stands in its own file");
    const auto again = exchange::readRegistryFile(name, mine->bytes, *zone);
    mustHold(again.rejected.empty(), "an exported file is taken over whole",
        again.rejected.empty() ? mine->bytes : base::plainly(again.rejected.front().fault) + " in " + mine->bytes);
    mustHold(again.rows.size() == acts.size(), "no row is lost or added", mine->bytes);
    for (std::size_t i = 0; i < acts.size(); ++i)
        mustHold(store::bodyOf(again.rows[i].act, true).canonical() == store::bodyOf(acts[i], true).canonical(), "every row reads the same",
            mine->bytes);
    return 0;
}
