// SPDX-License-Identifier: GPL-3.0-or-later
// Every input of the corpus through its target, as the fuzzer would: a property that does not hold ends the program and says so.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <iterator>

#define MK_PLAYED(target)                                                                                                                  \
    extern "C" int play_##target(const std::uint8_t* data, std::size_t size);                                                              \
    TEST(FuzzCorpus, target)                                                                                                               \
    {                                                                                                                                      \
        playCorpus(#target, play_##target);                                                                                                \
    }

namespace {

void playCorpus(const std::string& target, int (*play)(const std::uint8_t*, std::size_t))
{
    play(nullptr, 0);
    std::vector<std::filesystem::path> files;
    for (const auto& file : std::filesystem::directory_iterator(std::string(MK_FUZZ_CORPUS) + "/" + target))
        files.push_back(file.path());
    std::ranges::sort(files);
    EXPECT_GE(files.size(), 5U) << "the corpus of " << target << " is nearly empty";
    for (const auto& file : files) {
        std::ifstream stream(file, std::ios::binary);
        const std::string bytes { std::istreambuf_iterator<char>(stream), {} };
        SCOPED_TRACE(file.filename().string());
        EXPECT_EQ(play(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()), 0);
    }
}

} // namespace

MK_PLAYED(address)
MK_PLAYED(canonical_json)
MK_PLAYED(csv)
MK_PLAYED(export_lines)
MK_PLAYED(gs1)
MK_PLAYED(journal_entry)
MK_PLAYED(kept_record)
MK_PLAYED(policy)
MK_PLAYED(registry_files)
MK_PLAYED(study_file)
MK_PLAYED(typed_values)
