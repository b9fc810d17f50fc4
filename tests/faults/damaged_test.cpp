// SPDX-License-Identifier: GPL-3.0-or-later
// Bytes of a registry's files that changed on the disk: opening, the board or verify says so, and no meter becomes usable by it unsaid.
#include "fault_disk.h"
#include "fault_table.h"
#include "fault_ward.h"

#include "store/read/board.h"
#include "store/journal/journal.h"
#include "store/copies/verification.h"

#include <gtest/gtest.h>

#include <filesystem>

namespace mk::faults {

namespace {

using store::Session;

constexpr int kMinutes = 60;
constexpr int kDay = 86'400;

store::NewAct rejectedRun(const std::string& set, int second)
{
    auto run = std::get<registry::acts::ControlRun>(setOf(set, "M-02", second, false).front().act);
    run.result = *base::Decimal::parse("90");
    return { registry::Act(run), set };
}

/// A ward of some days: M-01 is usable at the moment of the question, M-02 was stopped by a rejected control an hour before.
base::Moment askedAt()
{
    return { 1'583'020'800'000 + 1000LL * (9 * kDay + 3 * 60 * kMinutes), 60 };
}
void fill(const std::string& registry)
{
    auto session = Session::open(registry, Session::Access::ReadWrite);
    ASSERT_TRUE(session);
    auto registrar = store::Registrar::open(**session, store::machineClock);
    ASSERT_TRUE(registrar);
    for (int day = 0; day < 10; ++day)
        for (const char* meter : { "M-01", "M-02" }) {
            if (day == 9 && std::string_view(meter) == "M-02")
                continue;
            const auto outcomes = (*registrar)
                                      ->record(
                                          setOf(std::string(meter) + "-" + std::to_string(day), meter, day * kDay + 60 * kMinutes, true),
                                          kHale);
            ASSERT_TRUE(outcomes) << outcomes.error().text;
        }
    ASSERT_TRUE((*registrar)->record(std::vector { rejectedRun("x", 9 * kDay + 2 * 60 * kMinutes) }, kHale));
}

/// The board in one line a meter: `M-01 usable`, `M-02 not`.
base::Result<std::vector<std::pair<std::string, bool>>> boardOf(Session& session)
{
    auto reader = store::Reader::open(session);
    if (!reader)
        return reader.error();
    const auto rows = store::board(*reader, std::nullopt, askedAt());
    if (!rows)
        return rows.error();
    std::vector<std::pair<std::string, bool>> lines;
    for (const auto& row : *rows)
        lines.emplace_back(row.history.meter.act.meter.value, row.fitness.usable);
    return lines;
}

struct DamageTally {
    std::int64_t tries = 0;
    std::int64_t told = 0;     ///< by opening or the board
    std::int64_t verified = 0; ///< found by verify
    std::int64_t harmless = 0; ///< everything is there
    std::int64_t shorter = 0;  ///< a whole chain, of an earlier time
    std::int64_t usable = 0;   ///< a stopped meter shown as usable, unsaid by opening and board
};

void expectWords(const base::Fault& fault)
{
    for (const char* chatter : { "SQL", "sqlite", "std::" })
        EXPECT_EQ(fault.text.find(chatter), std::string::npos) << fault.text;
    EXPECT_GT(fault.text.size(), 20U);
    const bool ofInputToo = fault.text.find("not a journal document") != std::string::npos; // says where in the entry
    EXPECT_TRUE(ofInputToo || fault.text.find_first_of(";.") != std::string::npos) << "says not what to do: " << fault.text;
}

/// Opens a damaged registry, asks for the board, and verifies it.
void ask(const std::string& path, const std::string& head, DamageTally& tally)
{
    ++tally.tries;
    const auto session = Session::open(path, Session::Access::ReadWrite);
    if (!session) {
        expectWords(session.error());
        ++tally.told;
        return;
    }
    const auto lines = boardOf(**session);
    if (!lines)
        expectWords(lines.error());
    const auto found = store::verify(**session, std::nullopt);
    if (!found)
        expectWords(found.error());
    const bool holds = found && found->holds();
    const bool wrong = lines && std::ranges::any_of(*lines, [](const auto& line) { return line.first != "M-01" && line.second; });
    tally.usable += wrong ? 1 : 0;
    if (!lines)
        ++tally.told;
    else if (!holds)
        ++tally.verified;
    else if (found->head == head)
        ++tally.harmless;
    else
        ++tally.shorter;
    if (!lines) {
        EXPECT_FALSE(holds) << "the board could not be read (" << lines.error().text << "), and verify found nothing";
    } else if (holds && found->head == head) {
        EXPECT_EQ(*lines, (std::vector<std::pair<std::string, bool>> { { "M-01", true }, { "M-02", false } })) << "verify found nothing";
    }
}

void flip(std::string& bytes, std::size_t at, std::mt19937& random)
{
    bytes[at] = static_cast<char>(bytes[at] ^ static_cast<char>(1 + random() % 255));
}

void report(const char* what, const DamageTally& tally)
{
    std::cout << what << ": " << tally.tries << " tries, " << tally.told << " told by opening or board, " << tally.verified
              << " by verify, " << tally.harmless << " without effect, " << tally.shorter << " an earlier state, " << tally.usable
              << " stopped meters shown as usable\n";
}

} // namespace

TEST(DamagedPage, IsToldByOpeningBoardOrVerifyWhereverItLies)
{
    const FaultWard ward;
    fill(ward.registry());
    const std::string whole = readBytes(ward.registry());
    const std::string head = ward.head().substr(ward.head().find(' ') + 1);
    const std::string path = ward.folder() + "/damaged.mkr";
    const int tries = longTests() ? 2000 : 50;
    std::mt19937 random(811); // NOLINT
    DamageTally tally;
    for (int i = 0; i < tries && !HasFailure(); ++i) {
        SCOPED_TRACE("try " + std::to_string(i));
        std::string bytes = whole;
        const std::size_t at = random() % bytes.size();
        switch (i % 4) {
        case 0:
        case 1: flip(bytes, at, random); break;
        case 2: // a sector of rubbish
            for (std::size_t k = at / 512 * 512; k < std::min(bytes.size(), at / 512 * 512 + 512); ++k)
                bytes[k] = static_cast<char>(random());
            break;
        default:
            std::fill_n(bytes.begin() + static_cast<std::ptrdiff_t>(at / 4096 * 4096),
                std::min<std::size_t>(4096, bytes.size() - at / 4096 * 4096), '\0');
        }
        layOut({ { "damaged.mkr", bytes } }, ward.folder() + "/d");
        ask(ward.folder() + "/d/damaged.mkr", head, tally);
    }
    report("damaged page", tally);
    EXPECT_EQ(tally.shorter, 0);
    EXPECT_GT(tally.told, 0);
    EXPECT_GT(tally.verified, 0);
    addFaultRow("bytes, sectors and pages of the file changed (SQLite)", tally.tries, tally.shorter, tally.usable,
        "opening or board " + std::to_string(tally.told) + ", verify " + std::to_string(tally.verified) + ", no effect "
            + std::to_string(tally.harmless));
}

TEST(DamagedPage, WithAChangedTextValueIsFoundByVerify)
{
    const FaultWard ward;
    fill(ward.registry());
    const std::string whole = readBytes(ward.registry());
    int tries = 0;
    for (const char* text : { "rejected", "accepted", "M-02", "hale", "S1-1", "low" }) {
        SCOPED_TRACE(text);
        for (std::size_t at = whole.find(text); at != std::string::npos; at = whole.find(text, at + (longTests() ? 900 : 15'000))) {
            std::string bytes = whole;
            bytes[at + 1] = static_cast<char>(bytes[at + 1] ^ 1);
            layOut({ { "changed.mkr", bytes } }, ward.folder() + "/d");
            const auto session = Session::open(ward.folder() + "/d/changed.mkr", Session::Access::ReadWrite);
            ASSERT_TRUE(session) << session.error().text;
            const auto found = store::verify(**session, std::nullopt);
            EXPECT_TRUE(!found || !found->holds()) << "at byte " << at;
            ++tries;
        }
    }
    EXPECT_GT(tries, 5);
    addFaultRow("one letter of a stored text changed (SQLite)", tries, 0, 0, "verify");
}

// A registry as a killed program leaves it: the newest entries in the log alone.
TEST(DamagedLog, LosesNothingUnsaidButWhatThePrintedHeadShows)
{
    const FaultWard ward;
    FaultDisk::Image left;
    std::string head;
    {
        auto keep = Session::open(ward.registry(), Session::Access::ReadWrite);
        ASSERT_TRUE(keep);
        fill(ward.registry());
        left = filesOf(ward.folder());
        head = ward.head().substr(ward.head().find(' ') + 1);
    }
    ASSERT_GT(left["ward.mkr-wal"].size(), 100'000U);
    const int tries = longTests() ? 1000 : 40;
    std::mt19937 random(97); // NOLINT
    DamageTally log, shared;
    for (int i = 0; i < tries && !HasFailure(); ++i) {
        SCOPED_TRACE("try " + std::to_string(i));
        const bool isLog = i % 4 != 0;
        FaultDisk::Image image = left;
        std::string& bytes = image[isLog ? "ward.mkr-wal" : "ward.mkr-shm"];
        flip(bytes, random() % bytes.size(), random);
        layOut(image, ward.folder() + "/d");
        ask(ward.folder() + "/d/ward.mkr", head, isLog ? log : shared);
    }
    report("damaged log", log);
    report("damaged shared memory", shared);
    EXPECT_GT(log.told, log.tries * 2 / 3) << "all but the newest transaction";
    EXPECT_EQ(shared.harmless, shared.tries) << "it is made anew by the first that opens";
    addFaultRow("one byte of the log changed after a crash (SQLite)", log.tries, log.shorter, log.usable,
        "opening or board " + std::to_string(log.told) + ", verify " + std::to_string(log.verified) + ", no effect "
            + std::to_string(log.harmless) + ", verify with a printed head " + std::to_string(log.shorter));
    addFaultRow("one byte of the shared memory changed after a crash (SQLite)", shared.tries, 0, shared.usable,
        "nothing to find: opening makes it anew");
}

} // namespace mk::faults
