// SPDX-License-Identifier: GPL-3.0-or-later
// The drill: registries damaged, lost and brought back from their copies, by the real program.
#include "drill.h"
#include "worker.h"

#include "store/journal/journal.h"
#include "store/read/reader.h"
#include "store/copies/restore.h"
#include "support/private_server.h"

#include <QFile>

#include <gtest/gtest.h>

#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <csignal>

namespace mk::faults {

TEST(RestoreDrill, NothingIsLostUpToTheCopyThatWasMadeWhileAnotherWrote)
{
    const FaultWard ward;
    const std::string copy = ward.folder() + "/copy.mkr";
    std::vector<std::string> before;
    {
        Worker worker({ ward.registry(), "M-01", "w", 0, 0, 60 });
        ASSERT_TRUE(worker.waitUntilReady()) << worker.complaint();
        worker.letGo();
        while (worker.acknowledged().size() < 20)
            ASSERT_TRUE(worker.listen(1000)) << worker.complaint();
        before = worker.acknowledged();
        const Ran made = runCli(ward.command({ QStringLiteral("--json"), QStringLiteral("backup"), text(copy) }));
        ASSERT_EQ(made.status, 0) << made.err;
        EXPECT_EQ(jsonOf(made)[QLatin1String("chain")].toString().toStdString(), "intact");
        const auto acknowledgedThen = worker.acknowledged().size();
        while (worker.acknowledged().size() < acknowledgedThen + 5)
            ASSERT_TRUE(worker.listen(1000)) << worker.complaint(); // it went on
        worker.killNow();
    }
    expectVerified(ward.registry());
    ASSERT_TRUE(QFile::remove(text(ward.registry()))); // its log stays behind, as after a careless hand
    const Ran restored = runCli(ward.command({ QStringLiteral("restore"), text(copy) }));
    ASSERT_EQ(restored.status, 0) << restored.err;
    const StoredSets stored = storedSets(ward.registry());
    std::ranges::sort(before);
    EXPECT_TRUE(std::ranges::includes(stored.whole, before)) << "what was acknowledged before the copy began";
    EXPECT_TRUE(stored.broken.empty());
    EXPECT_TRUE(stored.twice.empty());
    expectVerified(ward.registry());
    Drill::recordIn(ward.registry(), "after", 10'000, 1); // and it goes on
    auto session = store::Session::open(ward.registry(), store::Session::Access::ReadOnly);
    ASSERT_TRUE(session);
    auto reader = store::Reader::open(**session);
    ASSERT_TRUE(reader);
    const auto noted = reader->facts<registry::acts::RegistryRestored>();
    ASSERT_TRUE(noted);
    ASSERT_EQ(noted->size(), 1U);
    EXPECT_EQ(noted->front().act.copy, "copy.mkr");
    EXPECT_FALSE(noted->front().act.replacedHead) << "there was nothing to replace";
}

TEST(RestoreDrill, ACopyThatDoesNotHoldIsRefusedAndTheRegistryStaysByteForByte)
{
    Drill drill;
    drill.record("later", 100, 2);
    const std::string& good = drill.copyBytes();
    const auto bad = [&](const std::string& name, const std::string& bytes) { return drill.ward().write(name, bytes); };
    std::vector<std::pair<std::string, std::string>> copies; // file, what is said of it
    copies.emplace_back(bad("letter.mkr", "Dear colleague,\nthis is no copy.\n"), "neither a copy");
    copies.emplace_back(bad("half.mkr", good.substr(0, good.size() / 2)), "");
    copies.emplace_back(bad("short.mkr", good.substr(0, good.size() - 4096)), "");
    copies.emplace_back(bad("page.mkr", withDamagedPage(drill.copy(), "journal")), "");
    copies.emplace_back(bad("index.mkr", withDamagedPage(drill.copy(), "act_key_plain")), "");
    std::string changed = good;
    const auto at = changed.find("\"result\":\"4");
    ASSERT_NE(at, std::string::npos);
    changed[at + 11] = changed[at + 11] == '9' ? '8' : '9';
    copies.emplace_back(bad("changed.mkr", changed), "chain is broken at entry");
    const std::string newer = bad("newer.mkr", good);
    tamper(newer, { QStringLiteral("PRAGMA user_version = 999") });
    copies.emplace_back(newer, "later version");
    const std::string softened = bad("softened.mkr", good);
    tamper(softened, { QStringLiteral("DROP TRIGGER journal_no_update") });
    copies.emplace_back(softened, "index differs");
    const std::string verdict = bad("verdict.mkr", good);
    tamper(verdict, { QStringLiteral("UPDATE set_verdict SET verdict = 'rejected'") });
    copies.emplace_back(verdict, "set_verdict");
    copies.emplace_back(drill.file("none.mkr"), "nothing at");
    const std::string before = readBytes(drill.ward().registry());
    for (const auto& [file, said] : copies) {
        SCOPED_TRACE(file);
        const std::string bytes = QFile::exists(text(file)) ? readBytes(file) : std::string();
        for (const bool replace : { false, true }) {
            const Ran ran = replace ? drill.run({ "restore", file.c_str(), "--replace" }) : drill.run({ "restore", file.c_str() });
            EXPECT_TRUE(ran.status == 1 || ran.status == 2) << ran.status;
            EXPECT_EQ(ran.out, "");
            expectOneLine(ran.err);
            EXPECT_TRUE(holds(ran.err, said)) << ran.err;
        }
        EXPECT_TRUE(readBytes(drill.ward().registry()) == before);
        EXPECT_TRUE(!QFile::exists(text(file)) || readBytes(file) == bytes) << "the copy is not touched either";
    }
    EXPECT_EQ(leftovers(drill.ward().folder()).join(QLatin1Char(' ')).toStdString(), "");
    expectVerified(drill.ward().registry());
}

TEST(RestoreDrill, SaysWhatWouldBeLostAndKeepsWhatItReplaces)
{
    Drill drill;
    drill.record("later", 100, 2);
    const std::string before = readBytes(drill.ward().registry());
    const std::string head = drill.ward().head();
    const Ran told = drill.run({ "--json", "restore", drill.copy().c_str() });
    EXPECT_EQ(told.status, 1);
    expectOneLine(told.err);
    EXPECT_TRUE(holds(told.err, "older than the registry") && holds(told.err, "would be lost") && holds(told.err, "--replace")) << told.err;
    EXPECT_FALSE(jsonOf(told)[QLatin1String("restored")].toBool(true));
    const int lost = jsonOf(told)[QLatin1String("replaced")][QLatin1String("lost")].toInt();
    EXPECT_GE(lost, 1 + 2 * 3) << "that a copy was made, and two sets with their verdicts";
    EXPECT_EQ(
        lost, jsonOf(told)[QLatin1String("replaced")][QLatin1String("entries")].toInt() - jsonOf(told)[QLatin1String("entries")].toInt());
    EXPECT_TRUE(readBytes(drill.ward().registry()) == before);

    const Ran done = drill.run({ "--json", "--operator", "rook", "restore", drill.copy().c_str(), "--replace" });
    ASSERT_EQ(done.status, 0) << done.err;
    const std::string kept = jsonOf(done)[QLatin1String("replaced")][QLatin1String("kept_as")].toString().toStdString();
    ASSERT_TRUE(QFile::exists(text(kept))) << done.out;
    expectVerified(drill.ward().registry());
    EXPECT_EQ(storedSets(drill.ward().registry()).whole.size(), 6U);
    expectVerified(kept);
    EXPECT_EQ(storedSets(kept).whole.size(), 8U) << "nothing of what was replaced is gone";
    auto session = store::Session::open(drill.ward().registry(), store::Session::Access::ReadOnly);
    ASSERT_TRUE(session);
    const auto newest = store::entryAt(**session, store::headOf(**session)->seq);
    ASSERT_TRUE(newest && *newest);
    EXPECT_EQ((*newest)->act, "registry.restored");
    EXPECT_EQ((*newest)->person, "rook");
    EXPECT_TRUE(holds((*newest)->body, head.substr(head.find(' ') + 1))) << "names the head of what it replaced";
}

TEST(RestoreDrill, KnowsAnotherRegistryABranchAndAnOlderFile)
{
    Drill drill;
    const FaultWard other;
    other.write("ward.mkr", FaultWard::anotherRegistry());
    const Ran foreign = drill.run({ "restore", other.registry().c_str() });
    EXPECT_EQ(foreign.status, 1);
    EXPECT_TRUE(holds(foreign.err, "another registry")) << foreign.err;

    const std::string branch = drill.ward().write("branch.mkr", drill.copyBytes());
    Drill::recordIn(branch, "there", 200, 2);
    const std::string head = drill.ward().head();
    const Ran parted = drill.run({ "restore", branch.c_str() });
    EXPECT_EQ(parted.status, 1);
    EXPECT_TRUE(holds(parted.err, "part at entry " + head.substr(0, head.find(' ')))) << parted.err << head;

    // Somebody put an old copy in the place of the registry: the newer one brings back what is missing, and nothing is lost.
    drill.record("later", 100, 2);
    const std::string newer = drill.file("newer.mkr");
    ASSERT_EQ(drill.run({ "backup", newer.c_str() }).status, 0);
    const std::string printed = drill.ward().head();
    ASSERT_TRUE(QFile::remove(text(drill.ward().registry())));
    ASSERT_TRUE(QFile::copy(text(drill.copy()), text(drill.ward().registry())));
    const Ran verify = drill.run({ "verify", "--head", printed.substr(printed.find(' ') + 1).c_str() });
    EXPECT_EQ(verify.status, 1);
    EXPECT_TRUE(holds(verify.out, "older than that report")) << verify.out;
    const Ran older = drill.run({ "restore", newer.c_str() });
    EXPECT_EQ(older.status, 1) << "it still asks";
    EXPECT_TRUE(holds(older.err, "is older than the copy") && holds(older.err, "nothing would be lost")) << older.err;
    EXPECT_EQ(drill.run({ "restore", newer.c_str(), "--replace" }).status, 0);
    EXPECT_EQ(storedSets(drill.ward().registry()).whole.size(), 8U);
}

TEST(RestoreDrill, AKillAtAnyStepLeavesOneOfTheTwoWhole)
{
    using store::RestoreStep;
    for (const auto step :
        { RestoreStep::Staged, RestoreStep::Proven, RestoreStep::Held, RestoreStep::Noted, RestoreStep::Kept, RestoreStep::Replaced })
        for (const bool damaged : { false, true }) {
            SCOPED_TRACE(testing::Message() << "step " << static_cast<int>(step) << (damaged ? " over a damaged file" : ""));
            Drill drill;
            drill.record("later", 100, 2);
            if (damaged)
                drill.ward().write("ward.mkr", withDamagedPage(drill.ward().registry(), "journal"));
            const std::string head = drill.ward().head();
            const pid_t child = ::fork();
            ASSERT_GE(child, 0);
            if (child == 0) {
                store::RestoreRequest request { drill.copy(), drill.ward().registry(), true, { base::OperatorId("rook"), "test" } };
                request.reached = [step](RestoreStep reached) {
                    if (reached == step)
                        ::kill(::getpid(), SIGKILL);
                };
                static_cast<void>(store::restore(request));
                ::_exit(0);
            }
            int status = 0;
            ASSERT_EQ(::waitpid(child, &status, 0), child);
            EXPECT_TRUE(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL) << "the step was never reached";
            const bool replaced = step == RestoreStep::Replaced;
            if (replaced || !damaged) {
                expectVerified(drill.ward().registry());
                EXPECT_EQ(storedSets(drill.ward().registry()).whole.size(), replaced ? 6U : 8U);
            }
            if (!replaced) {
                EXPECT_EQ(drill.ward().head(), head);
                const Ran again = drill.run({ "restore", drill.copy().c_str(), "--replace" });
                EXPECT_EQ(again.status, 0) << again.err;
                expectVerified(drill.ward().registry());
                EXPECT_EQ(storedSets(drill.ward().registry()).whole.size(), 6U);
            }
        }
}

TEST(RestoreDrill, IsRefusedWhileAnotherProgramHasTheRegistryOpen)
{
    Drill drill;
    drill.record("later", 100, 1);
    const std::string head = drill.ward().head();
    {
        auto window = store::Session::open(drill.ward().registry(), store::Session::Access::ReadWrite);
        ASSERT_TRUE(window && store::headOf(**window));
        const Ran ran = drill.run({ "restore", drill.copy().c_str(), "--replace" });
        EXPECT_EQ(ran.status, 2) << ran.out;
        EXPECT_TRUE(holds(ran.err, "open in another program")) << ran.err;
    }
    EXPECT_EQ(drill.ward().head(), head);
    expectVerified(drill.ward().registry());
}

TEST(RestoreDrill, AnExportOfTheJournalGivesTheSameHead)
{
    Drill drill;
    const std::string folder = drill.file("export");
    ASSERT_EQ(drill.run({ "export", "--format", "ndjson", "--out", folder.c_str() }).status, 0);
    const std::string head = drill.ward().head();
    const std::string made = drill.file("made.mkr");
    const auto restoreThere = [&](const std::string& source) {
        return runCli({ QStringLiteral("--json"), QStringLiteral("--registry"), text(made), QStringLiteral("restore"), text(source) });
    };
    const Ran ran = restoreThere(folder);
    ASSERT_EQ(ran.status, 0) << ran.err;
    EXPECT_EQ(
        std::to_string(jsonOf(ran)[QLatin1String("entries")].toInt()) + " " + jsonOf(ran)[QLatin1String("head")].toString().toStdString(),
        head);
    expectVerified(made);
    EXPECT_EQ(storedSets(made).whole, storedSets(drill.ward().registry()).whole);

    const std::string lines = readBytes(folder + "/journal.ndjson");
    const std::string lastLine = lines.substr(0, lines.rfind('\n', lines.size() - 2) + 1);
    ASSERT_TRUE(QFile::remove(text(made)));
    std::string wrong = lines;
    wrong[wrong.find("\"result\":\"4") + 11] = '0';
    for (const auto& [bytes, said] : std::initializer_list<std::pair<std::string, const char*>> {
             { lastLine, "lines are missing" }, { lines.substr(0, lines.size() - 10), "cut off" }, { wrong, ", line " } }) {
        drill.ward().write("export/journal.ndjson", bytes);
        const Ran refused = restoreThere(folder);
        EXPECT_EQ(refused.status, 1) << refused.out;
        expectOneLine(refused.err);
        EXPECT_TRUE(holds(refused.err, said)) << refused.err;
        EXPECT_FALSE(QFile::exists(text(made)));
    }
}

TEST(RestoreDrill, ToAServerAndBackGivesTheSameHeadAndTheSameBoard)
{
    Drill drill;
    auto& server = support::PrivateServer::shared();
    const std::string address = server.address(server.newDatabase(), QStringLiteral("keeper"));
    const std::string head = drill.ward().head();
    const auto board = [](const std::string& place) {
        return runCli({ QStringLiteral("--registry"), text(place), QStringLiteral("--json"), QStringLiteral("--at"),
            QStringLiteral("2020-03-01T12:00"), QStringLiteral("board") });
    };
    const auto headAt = [](const std::string& place) {
        const Ran ran = runCli({ QStringLiteral("--registry"), text(place), QStringLiteral("--json"), QStringLiteral("verify") });
        EXPECT_EQ(ran.status, 0) << ran.out << ran.err;
        return std::to_string(jsonOf(ran)[QLatin1String("entries")].toInt()) + " "
            + jsonOf(ran)[QLatin1String("head")].toString().toStdString();
    };
    const Ran here = board(drill.ward().registry());
    ASSERT_EQ(here.status, 0) << here.err;
    const Ran away = drill.run({ "move", address.c_str() });
    ASSERT_EQ(away.status, 0) << away.err;
    EXPECT_EQ(headAt(address), head);
    const Ran there = board(address);
    EXPECT_EQ(there.status, 0) << there.err;
    EXPECT_EQ(there.out, here.out);
    const Ran refused = drill.run({ "--operator", "rook", "act", "note", "--meter", "M-01", "--text", "too late" });
    EXPECT_EQ(refused.status, 2) << refused.out;
    EXPECT_TRUE(holds(refused.err, "goes on in")) << refused.err;

    const std::string copy = drill.file("of-the-server.mkr");
    const Ran made = runCli(
        { QStringLiteral("--registry"), text(address), QStringLiteral("--json"), QStringLiteral("backup"), text(copy) });
    EXPECT_EQ(made.status, 0) << made.err;
    EXPECT_TRUE(jsonOf(made)[QLatin1String("seq")].isNull()) << "whoever keeps the server may not record";
    EXPECT_EQ(headAt(copy), head);

    const std::string back = drill.file("back.mkr");
    const Ran returned = runCli({ QStringLiteral("--registry"), text(address), QStringLiteral("move"), text(back) });
    ASSERT_EQ(returned.status, 0) << returned.err;
    EXPECT_EQ(headAt(back), head);
    EXPECT_EQ(board(back).out, here.out);

    // A copy goes onto an empty database only.
    const Ran taken = runCli(
        { QStringLiteral("--registry"), text(address), QStringLiteral("restore"), text(copy), QStringLiteral("--replace") });
    EXPECT_EQ(taken.status, 2) << taken.out;
    EXPECT_TRUE(holds(taken.err, "empty database")) << taken.err;
    const std::string second = server.address(server.newDatabase(), QStringLiteral("keeper"));
    const Ran restored = runCli({ QStringLiteral("--registry"), text(second), QStringLiteral("restore"), text(copy) });
    EXPECT_EQ(restored.status, 0) << restored.err;
    EXPECT_EQ(board(second).out, here.out);
    const std::string spoilt = drill.ward().write("spoilt.mkr", readBytes(copy).substr(0, 40'000));
    const QString third = server.newDatabase();
    EXPECT_NE(runCli({ QStringLiteral("--registry"), text(server.address(third, QStringLiteral("keeper"))), QStringLiteral("restore"),
                         text(spoilt) })
                  .status,
        0);
    EXPECT_EQ(server.sql(third, QStringLiteral("SELECT to_regclass('meterkeep.journal') IS NULL")).toStdString(), "t")
        << "nothing was touched";
}

} // namespace mk::faults
