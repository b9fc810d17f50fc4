// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/registry_files.h"

#include "exchange/registry_csv.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::exchange {
namespace {

using namespace registry;

TEST(RegistryFiles, EveryFileOfTheTableIsThereWithItsHeader)
{
    const auto files = registryFiles({});
    EXPECT_EQ(files.size(), std::tuple_size_v<FileActs>);
    for (const auto& file : files) {
        EXPECT_TRUE(isRegistryFile(file.name)) << file.name;
        EXPECT_EQ(file.rows, 0u);
        EXPECT_EQ(std::ranges::count(file.bytes, '\n'), 1);
    }
    EXPECT_EQ(files.front().bytes, "ward,name\n");
}

// Exact: what would be a formula in a spreadsheet, quotes, line ends and blanks come back as they were.
TEST(RegistryFiles, CellsComeBackByteForByte)
{
    std::vector<Act> acts;
    const std::vector<std::string> names { "=1+1", "-2", "a,b", "a \"b\"", "two\nlines", " ahead", "behind ", "Süd", "\ttab" };
    for (std::size_t i = 0; i < names.size(); ++i)
        acts.push_back(acts::WardAdded { base::WardId("W" + std::to_string(i)), names[i] });
    acts.push_back(acts::WardAdded { base::WardId("WX"), std::nullopt });
    const auto files = registryFiles(acts);
    EXPECT_EQ(files.front().rows, names.size() + 1);
    const FileRows read = readRegistryFile("wards.csv", files.front().bytes, Zone::utc());
    EXPECT_TRUE(read.rejected.empty());
    ASSERT_EQ(read.rows.size(), acts.size());
    for (std::size_t i = 0; i < names.size(); ++i)
        EXPECT_EQ(std::get<acts::WardAdded>(read.rows[i].act).name, names[i]);
    EXPECT_FALSE(std::get<acts::WardAdded>(read.rows.back().act).name);
}

} // namespace
} // namespace mk::exchange
