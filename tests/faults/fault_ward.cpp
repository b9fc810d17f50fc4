// SPDX-License-Identifier: GPL-3.0-or-later
#include "fault_ward.h"

#include "exchange/registry_csv.h"
#include "store/journal/journal.h"
#include "store/db/rows.h"
#include "store/copies/verification.h"

#include <QFile>

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <numeric>

namespace mk::faults {

namespace {

using store::Session;

constexpr std::int64_t kFirstOfMarch2020Ms = 1'583'020'800'000; // 2020-03-01T00:00Z
constexpr int kMostRunMs = 120'000;

const std::pair<const char*, const char*> kWardFiles[] = {
    { "wards.csv", "ward,name\nW1,Testing\n" },
    { "models.csv", "model,unit,low,high,needs_code,shared_use\nK-2,mg/dL,20,600,no,yes\n" },
    { "meters.csv", "meter,model,serial,ward,enrolled,state\nM-01,K-2,1001,W1,2020-01-01,\nM-02,K-2,1002,W1,2020-01-01,\n" },
    { "operators.csv",
        "operator,name,role,competent_from,competent_until\nhale,P. Hale,nurse,2019-01-01,2030-12-31\nrook,J. "
        "Rook,coordinator,2019-01-01,2030-12-31\n" },
    { "strip_lots.csv", "lot,model,expiry,open_period,received,released\nS1,K-2,2021-12,900 d,2020-01-02,2020-01-10T09:00\n" },
    { "strip_vials.csv", "vial,lot,opened,ward\nS1-1,S1,2020-02-28T06:00,W1\n" },
    { "control_lots.csv", "lot,level,expiry,open_period,received\nCL,low,2021-12,900 d,2020-01-02\nCH,high,2021-12,900 d,2020-01-02\n" },
    { "control_vials.csv", "vial,lot,opened,ward\nCL-1,CL,2020-02-28T06:00,W1\nCH-1,CH,2020-02-28T06:05,W1\n" },
    { "ranges.csv",
        "strip_lot,control_lot,level,unit,low,high,mean,sd,stage,from\nS1,CL,low,mg/dL,36,56,46,4,established,2020-01-10\n"
        "S1,CH,high,mg/dL,263,347,305,18,established,2020-01-10\n" },
};

std::string found(const std::string& registry)
{
    auto session = Session::create(registry);
    if (!session)
        return session.error().text;
    const store::Author author { base::OperatorId("rook"), "test" };
    if (const auto founded = store::found(**session, "Europe/Berlin", {}, author, store::machineClock); !founded)
        return founded.error().text;
    auto registrar = store::Registrar::open(**session, store::machineClock);
    const auto zone = registry::Zone::named("Europe/Berlin");
    if (!registrar || !zone)
        return "the registrar does not open";
    std::vector<registry::FileRows> files;
    for (const auto& [name, bytes] : kWardFiles)
        files.push_back(exchange::readRegistryFile(name, bytes, *zone));
    const auto report = (*registrar)->importFiles(std::move(files), author);
    if (!report)
        return report.error().text;
    for (const auto& file : report->files)
        for (const auto& row : file.rejected)
            return file.file + ": " + base::plainly(row.fault);
    return {};
}

std::vector<std::string> namesBy(Session& session, const char* sql)
{
    std::vector<std::string> names;
    const base::Done read = store::eachRow(session, sql, {}, [&](const store::Statement& row) {
        names.push_back(row.text(0));
        return base::Done();
    });
    EXPECT_TRUE(read) << (read ? "" : read.error().text);
    return names;
}

std::string twoDigits(int number)
{
    return (number < 10 ? "0" : "") + std::to_string(number);
}

} // namespace

Ran runCli(const QStringList& arguments, const std::function<void()>& inChild)
{
    QProcess process;
    if (inChild)
        process.setChildProcessModifier(inChild);
    process.setProgram(QStringLiteral(MK_CLI));
    process.setArguments(arguments);
    process.start();
    Ran ran;
    if (!process.waitForFinished(kMostRunMs)) {
        process.kill();
        process.waitForFinished();
        return ran;
    }
    ran.status = process.exitStatus() == QProcess::NormalExit ? process.exitCode() : -1;
    ran.out = process.readAllStandardOutput().toStdString();
    ran.err = process.readAllStandardError().toStdString();
    return ran;
}

void expectOneLine(const std::string& err)
{
    EXPECT_EQ(std::ranges::count(err, '\n'), 1) << err;
    EXPECT_GT(err.size(), 10U) << err;
    EXPECT_TRUE(err.ends_with('\n')) << err;
    for (const char* chatter : { "QSql", "QSQLITE", "terminate", "what():", "ERROR: Addr", "runtime error" })
        EXPECT_EQ(err.find(chatter), std::string::npos) << err;
}

FaultWard::FaultWard(const std::string& folder)
    : m_folder(folder.empty() ? m_temporary.path().toStdString() : folder),
      m_registry(m_folder + "/ward.mkr")
{
    // Founded once in a process, then copied.
    static const std::string original = anotherRegistry();
    write("ward.mkr", original);
}

std::string FaultWard::anotherRegistry()
{
    const QTemporaryDir place;
    const std::string path = place.filePath(QStringLiteral("ward.mkr")).toStdString();
    EXPECT_EQ(found(path), "");
    return readBytes(path);
}

QStringList FaultWard::command(const QStringList& rest) const
{
    return QStringList { QStringLiteral("--registry"), QString::fromStdString(m_registry) } + rest;
}

std::string FaultWard::write(const std::string& name, const std::string& bytes) const
{
    const std::string path = m_folder + "/" + name;
    std::ofstream(path, std::ios::binary) << bytes;
    return path;
}

std::string FaultWard::head() const
{
    auto session = Session::open(m_registry, Session::Access::ReadOnly);
    if (!session)
        return session.error().text;
    const auto head = store::headOf(**session);
    return head ? std::to_string(head->seq.value) + " " + head->digest : head.error().text;
}

std::string runsHeader()
{
    return "set,at,meter,operator,strip_vial,level,control_vial,result,unit,reason,repeat_of,comment\n";
}

std::string runsRow(const std::string& set, int minute, const std::string& level, const std::string& result, const std::string& unit,
    const std::string& meter)
{
    const int day = minute / 1440;
    const std::string at = "2020-" + twoDigits(3 + day / 28) + "-" + twoDigits(1 + day % 28) + "T" + twoDigits(minute / 60 % 24) + ":"
        + twoDigits(minute % 60) + "Z";
    return set + "," + at + "," + meter + ",hale,S1-1," + level + "," + (level == "low" ? "CL-1" : "CH-1") + "," + result + "," + unit
        + ",,,\n";
}

std::string runsFile(const std::string& prefix, int sets)
{
    std::string text = runsHeader();
    for (int i = 0; i < sets; ++i) {
        const std::string name = prefix + "-" + std::to_string(i);
        text += runsRow(name, 60 * i, "low", std::to_string(44 + i * 7 % 5))
            + runsRow(name, 60 * i + 2, "high", std::to_string(297 + i * 11 % 17));
    }
    return text;
}

std::vector<store::NewAct> setOf(const std::string& name, const std::string& meter, int second, bool ids)
{
    std::vector<store::NewAct> runs;
    for (const auto level : { registry::Level::Low, registry::Level::High }) {
        const bool low = level == registry::Level::Low;
        const int spread = std::accumulate(name.begin(), name.end(), 0) % 5; // 44 to 48, 301 to 309: within half an SD of the means
        registry::acts::ControlRun run;
        run.set = base::SetId(name);
        run.at = { kFirstOfMarch2020Ms + 1000LL * second, 60 };
        run.meter = base::MeterId(meter);
        run.by = base::OperatorId("hale");
        run.stripVial = base::StripVialId("S1-1");
        run.level = level;
        run.controlVial = base::ControlVialId(low ? "CL-1" : "CH-1");
        run.result = *base::Decimal::parse(std::to_string(low ? 44 + spread : 301 + 2 * spread));
        run.unit = base::GlucoseUnit::MgPerDl;
        run.form = "DT-1"; // years back: from paper
        runs.push_back({ registry::Act(run), ids ? name + (low ? "/low" : "/high") : std::string() });
    }
    return runs;
}

std::string readBytes(const std::string& path)
{
    QFile file(QString::fromStdString(path));
    EXPECT_TRUE(file.open(QIODevice::ReadOnly)) << path;
    return file.readAll().toStdString();
}

StoredSets storedSets(const std::string& registry)
{
    StoredSets sets;
    auto session = Session::open(registry, Session::Access::ReadOnly);
    EXPECT_TRUE(session) << (session ? "" : session.error().text);
    if (!session)
        return sets;
    sets.whole = namesBy(**session,
        "SELECT r.set_id FROM control_run r WHERE r.to_seq IS NULL GROUP BY r.set_id HAVING count(*) = 2 AND count(DISTINCT r.level) = 2"
        " AND (SELECT count(*) FROM set_verdict v WHERE v.set_id = r.set_id AND v.to_seq IS NULL) = 1"
        " AND (SELECT count(*) FROM run_verdict v WHERE v.set_id = r.set_id AND v.to_seq IS NULL) = 2"
        " AND (SELECT count(*) FROM journal j WHERE j.seq IN (SELECT run_seq FROM control_run x WHERE x.set_id = r.set_id) AND j.act = "
        "'control.run') = 2");
    sets.broken = namesBy(
        **session, "SELECT set_id FROM control_run UNION SELECT set_id FROM set_verdict UNION SELECT set_id FROM run_verdict");
    std::ranges::sort(sets.whole);
    std::erase_if(sets.broken, [&](const std::string& name) { return std::ranges::binary_search(sets.whole, name); });
    sets.twice = namesBy(**session, "SELECT set_id || ' ' || level FROM control_run GROUP BY set_id, level HAVING count(*) > 1");
    return sets;
}

void expectVerified(const std::string& registry)
{
    auto session = Session::open(registry, Session::Access::ReadOnly);
    ASSERT_TRUE(session) << session.error().text;
    const auto found = store::verify(**session, std::nullopt);
    ASSERT_TRUE(found) << found.error().text;
    EXPECT_TRUE(found->chainIntact) << found->brokenBecause << " at " << found->brokenAt.value_or(0);
    EXPECT_TRUE(found->indexMatches) << (found->differsIn.empty() ? "" : found->differsIn.front());
    EXPECT_TRUE(found->unverified.empty());
}

bool longTests()
{
    return qEnvironmentVariableIsSet("MK_LONG_TESTS");
}

} // namespace mk::faults
