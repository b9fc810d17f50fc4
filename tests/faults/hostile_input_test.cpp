// SPDX-License-Identifier: GPL-3.0-or-later
// What somebody types to break the program is stored as text or refused in one line; it is never code, markup or a file's name.
#include "fault_ward.h"

#include "support/private_server.h"

#include "store/index/index.h"
#include "store/db/rows.h"

#include <QDir>
#include <QElapsedTimer>
#include <QFile>
#include <QProcess>

#include <gtest/gtest.h>

#include <sys/stat.h>

#include <algorithm>
#include <fstream>
#include <map>

namespace mk::faults {

namespace {

constexpr const char* kSql = "'); DROP TABLE journal; --\" \\ ? :1 $1 %s ${x} /* ; COMMIT;";

QString words(const std::string& text)
{
    return QString::fromStdString(text);
}

std::string cell(const std::string& text)
{
    std::string quoted = "\"";
    for (const char c : text)
        quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
    return quoted + '"';
}

std::string row(const std::vector<std::string>& cells)
{
    std::string line;
    for (const auto& each : cells)
        line += (line.empty() ? "" : ",") + cell(each);
    return line + "\n";
}

/// A ward whose every id and text carries `mark`, taken over from files and recorded by hand.
class MarkedWard {
public:
    MarkedWard(std::string place, std::string mark) : m_place(std::move(place)), m_mark(std::move(mark))
    {
        run({ QStringLiteral("init"), QStringLiteral("--zone=UTC") });
        const auto n = [this](const char* name) { return named(name); };
        write("wards", "ward,name", { { n("W"), n("Ward") } });
        write("models", "model,unit,low,high,needs_code,shared_use,market_approval",
            { { n("K"), "mg/dL", "20", "600", "no", "yes", n("approval") } });
        write("meters", "meter,model,serial,ward,enrolled,state", { { n("M"), n("K"), n("serial"), n("W"), "2020-01-01", "" } });
        write("operators", "operator,name,role,competent_from,competent_until",
            { { n("hale"), n("Hale"), "nurse", "2019-01-01", "2039-12-31" },
                { n("rook"), n("Rook"), "coordinator", "2019-01-01", "2039-12-31" } });
        write("strip_lots", "lot,model,gtin,code,expiry,open_period,received,released",
            { { n("S"), n("K"), n("gtin"), n("code"), "2039-12", "3660 d", "2020-01-02", "2020-01-10T09:00" } });
        write("strip_vials", "vial,lot,opened,ward", { { n("SV"), n("S"), "2020-02-28T06:00", n("W") } });
        write("control_lots", "lot,level,expiry,open_period,received",
            { { n("CL"), "low", "2039-12", "3660 d", "2020-01-02" }, { n("CH"), "high", "2039-12", "3660 d", "2020-01-02" } });
        write("control_vials", "vial,lot,opened,ward",
            { { n("LV"), n("CL"), "2020-02-28T06:00", n("W") }, { n("HV"), n("CH"), "2020-02-28T06:05", n("W") } });
        write("ranges", "strip_lot,control_lot,level,unit,low,high,mean,sd,stage,from",
            { { n("S"), n("CL"), "low", "mg/dL", "36", "56", "46", "4", "established", "2020-01-10" },
                { n("S"), n("CH"), "high", "mg/dL", "263", "347", "305", "18", "established", "2020-01-10" } });
        write("control_runs", "set,at,meter,operator,strip_vial,level,control_vial,result,unit,reason,repeat_of,comment",
            { { n("set"), "2020-03-01T05:00", n("M"), n("hale"), n("SV"), "low", n("LV"), "46", "mg/dL", "", "", n("a comment") },
                { n("set"), "2020-03-01T05:02", n("M"), n("hale"), n("SV"), "high", n("HV"), "ERR:" + n("E"), "mg/dL", "", "", "" } });
        write("incidents", "at,noticed_at,meter,operator,kind,detail",
            { { "2020-03-02T05:00", "", n("M"), n("hale"), "dropped", n("fell") } });
        write("corrections", "at,operator,set,level,column,old,new,reason,confirmed_by",
            { { "2020-03-03T05:00", n("rook"), n("set"), "low", "result", "46", "47", n("typo"), n("hale") } });
        run({ QStringLiteral("import"), m_files.path() });
        const QString by = QStringLiteral("--operator=") + words(n("rook"));
        run({ by, QStringLiteral("run"), QStringLiteral("add"), given("meter", "M"), given("strip-vial", "SV"),
                QStringLiteral("--run=low:%1=46").arg(words(n("LV"))), QStringLiteral("--run=high:%1=301").arg(words(n("HV"))),
                given("set", "second"), given("comment", "by hand") },
            true);
        run({ by, QStringLiteral("act"), QStringLiteral("note"), given("meter", "M"), given("text", "a note") });
        run({ by, QStringLiteral("act"), QStringLiteral("incident"), given("meter", "M"), QStringLiteral("--kind=battery-changed"),
            given("detail", "a detail") });
    }

    std::string named(const char* name) const { return name + m_mark; }
    QString given(const char* option, const char* name) const
    {
        return QStringLiteral("--%1=%2").arg(QString::fromUtf8(option), words(named(name)));
    }

    Ran run(const QStringList& rest, bool mayFind = false) const
    {
        Ran ran = runCli(QStringList { QStringLiteral("--registry=") + words(m_place) } + rest);
        EXPECT_TRUE(ran.status == 0 || (mayFind && ran.status == 1)) << rest.join(QLatin1Char(' ')).toStdString() << "\n"
                                                                     << ran.out << ran.err;
        return ran;
    }

    /// How many rows each table has; the tables themselves too.
    std::map<std::string, std::string> tables() const
    {
        std::map<std::string, std::string> counts;
        auto session = store::Session::open(m_place, store::Session::Access::ReadOnly);
        EXPECT_TRUE(session) << (session ? "" : session.error().text);
        if (!session)
            return counts;
        const auto count = [&](const std::string& table) {
            const std::string sql = "SELECT count(*) FROM " + table; // a name out of our own list
            const base::Done read = store::eachRow(**session, sql.c_str(), {}, [&](const store::Statement& each) {
                counts[table] = each.text(0);
                return base::Done();
            });
            EXPECT_TRUE(read) << (read ? "" : read.error().text);
        };
        count("journal");
        for (const auto& table : store::indexTables())
            count(std::string(table.name));
        return counts;
    }

private:
    void write(const char* name, const char* header, const std::vector<std::vector<std::string>>& rows) const
    {
        std::ofstream file(m_files.filePath(QString::fromUtf8(name) + QStringLiteral(".csv")).toStdString(), std::ios::binary);
        file << header << "\n";
        for (const auto& each : rows)
            file << row(each);
    }

    std::string m_place, m_mark;
    QTemporaryDir m_files;
};

void sqlIsText(const std::string& plainPlace, const std::string& hostilePlace)
{
    const MarkedWard plain(plainPlace, "-x");
    const MarkedWard hostile(hostilePlace, kSql);
    const auto expected = plain.tables();
    EXPECT_GT(expected.size(), 10U);
    EXPECT_NE(expected.at("journal"), "0");
    EXPECT_EQ(hostile.tables(), expected) << "statements in texts changed what is stored";
    plain.run({ QStringLiteral("verify") });
    hostile.run({ QStringLiteral("verify") });
    const std::string meter = hostile.run({ QStringLiteral("--json"), QStringLiteral("meter"), words(hostile.named("M")) }, true).out;
    EXPECT_NE(meter.find("DROP TABLE journal; --\\\" \\\\ ? :1 $1 %s ${x} /* ; COMMIT;"), std::string::npos)
        << "not as it was typed: " << meter.substr(0, 400);
}

void expectRefused(const Ran& ran, const std::vector<const char*>& names)
{
    EXPECT_EQ(ran.status, 2) << ran.out.substr(0, 500);
    expectOneLine(ran.err);
    EXPECT_LT(ran.err.size(), 2100U);
    for (const char* name : names)
        EXPECT_NE(ran.err.find(name), std::string::npos) << "does not speak of " << name << ": " << ran.err;
}

Ran noted(const FaultWard& ward, const std::string& text)
{
    return runCli(ward.command({ QStringLiteral("--operator=hale"), QStringLiteral("act"), QStringLiteral("note"),
        QStringLiteral("--meter=M-01"), QStringLiteral("--text=") + words(text) }));
}

Ran imported(const FaultWard& ward, const std::string& path)
{
    return runCli(ward.command({ QStringLiteral("import"), words(path) }));
}

} // namespace

TEST(HostileText, SqlInEveryFieldIsStoredAsTypedInAFile)
{
    const QTemporaryDir folder;
    sqlIsText(folder.filePath(QStringLiteral("plain.mkr")).toStdString(), folder.filePath(QStringLiteral("hostile.mkr")).toStdString());
}

TEST(HostileText, SqlInEveryFieldIsStoredAsTypedOnAServer)
{
    auto& server = support::PrivateServer::shared();
    sqlIsText(server.address(server.newDatabase()), server.address(server.newDatabase()));
}

TEST(HostileText, ThatCannotBeShownAsItIsIsRefusedByFieldAndPlace)
{
    const FaultWard ward;
    const std::string before = ward.head();
    const std::string header = "ward,name\n";
    const std::pair<std::string, std::vector<const char*>> files[] = {
        { "W7,\"a\x1b[2Jb\"\n", { "wards.csv", "line 2", "name", "control character" } },
        { "W7,\"two\nlines\"\n", { "wards.csv", "line 2", "name", "control character" } },
        { "W\xE2\x80\xAE"
          "7,x\n",
            { "wards.csv", "line 2", "ward", "invisible" } }, // turns what follows around
        { "W7,a\xE2\x81\xA6x\n", { "wards.csv", "line 2", "name", "invisible" } },
        { "W\xE2\x80\x8B"
          "7,x\n",
            { "wards.csv", "line 2", "ward", "invisible" } }, // of no width
        { std::string(101, 'W') + ",x\n", { "wards.csv", "line 2", "ward", "101", "100" } },
        { "W7," + std::string(501, 'x') + "\n", { "wards.csv", "line 2", "name", "501", "500" } },
        { "W7,\xC0\xAF\n", { "wards.csv", "line 2", "UTF-8" } },     // a slash, overlong
        { "W7,\xED\xA0\x80\n", { "wards.csv", "line 2", "UTF-8" } }, // half a pair
        { std::string("W7,a\0b\n", 7), { "wards.csv", "line 2", "NUL" } },
    };
    for (const auto& [rows, names] : files) {
        SCOPED_TRACE(rows.substr(0, 60));
        expectRefused(imported(ward, ward.write("wards.csv", header + rows)), names);
    }
    expectRefused(noted(ward, "looked\x1b]0;owned\x07"), { "text", "control character" });
    expectRefused(noted(ward, std::string(4001, 'x')), { "text", "4001", "4000" });
    expectRefused(noted(ward, std::string(120'000, 'x')), { "text", "120000" });
    EXPECT_EQ(ward.head(), before);

    // Its own words may have lines, and be long.
    EXPECT_EQ(noted(ward, "first line\n\tsecond line, " + std::string(3000, 'x')).status, 0);
    EXPECT_EQ(runCli(ward.command({ QStringLiteral("verify") })).status, 0);
}

TEST(HostileText, BytesThatAreNoTextAreRefusedAndSpoilNoChain)
{
    const FaultWard ward;
    const std::string before = ward.head();
    // QProcess would mend the bytes, so a shell hands them over.
    const auto shell = [&](const std::string& arguments) {
        QProcess process;
        process.start(QStringLiteral("/bin/bash"),
            { QStringLiteral("-c"), words("exec '" MK_CLI "' --registry '" + ward.registry() + "' " + arguments) });
        process.waitForFinished(60'000);
        return Ran { process.exitCode(), process.readAllStandardOutput().toStdString(), process.readAllStandardError().toStdString() };
    };
    expectRefused(shell("--operator=hale act note --meter=M-01 --text=$'caf\\xe9'"), { "text", "UTF-8" });
    expectRefused(shell("--operator=$'ha\\xffle' import '" + ward.write("wards.csv", "ward,name\nW7,x\n") + "'"), { "operator", "UTF-8" });
    expectRefused(shell("--operator=hale run add --meter=M-01 --strip-vial=S1-1 --run=low:CL-1=46 --set=$'s\\xff'"), { "set", "UTF-8" });
    EXPECT_EQ(ward.head(), before);
    EXPECT_EQ(runCli(ward.command({ QStringLiteral("verify") })).status, 0);
}

TEST(HostileText, FormulasStayExactInTheFilesForImport)
{
    // These files are read by the program again, so their cells are exact (handbook 8.8); nothing writes a table for a spreadsheet.
    const FaultWard ward;
    std::string rows = "at,noticed_at,meter,operator,kind,detail\n";
    int day = 1;
    for (const char* formula : { "=HYPERLINK(\"http://x\")", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1" })
        rows += row({ "2020-03-0" + std::to_string(++day) + "T05:00:00+01:00", "", "M-01", "hale", "battery-changed", formula });
    ASSERT_EQ(imported(ward, ward.write("incidents.csv", rows)).status, 0);
    const std::string folder = ward.folder() + "/out";
    ASSERT_EQ(
        runCli(ward.command({ QStringLiteral("export"), QStringLiteral("--format=csv"), QStringLiteral("--out=") + words(folder) })).status,
        0);
    const std::string written = readBytes(folder + "/incidents.csv");
    for (const char* exact : { "\"=HYPERLINK(\"\"http://x\"\")\",", ",+1,", ",-1,", ",@SUM(A1),", ",\"\t=1\",", ",\"\r=1\"," })
        EXPECT_NE(written.find(exact), std::string::npos) << exact << " in " << written;
    const Ran again = imported(ward, folder);
    EXPECT_EQ(again.status, 0) << again.err;
    EXPECT_NE(again.out.find("incidents.csv: 6 rows, 0 added, 6 unchanged"), std::string::npos) << again.out;
}

TEST(HostileText, OnTheTerminalIsWrittenOut)
{
    // A registry written by somebody else may hold what this program refuses to record; an unknown id comes back in the message.
    const FaultWard ward;
    const Ran table = runCli(ward.command({ QStringLiteral("meter"), QStringLiteral("M\x1b[2J\u202e\u009b") }));
    EXPECT_EQ(table.status, 2);
    EXPECT_EQ(table.err.find('\x1b'), std::string::npos);
    EXPECT_NE(table.err.find("\\u001b[2J\\u202e\\u009b"), std::string::npos) << table.err;
}

TEST(HostileText, MarkupStandsLiterallyInTheReview)
{
    const FaultWard ward;
    const std::string meter = "<b>M7</b><img src=file:///etc/passwd>";
    ASSERT_EQ(
        imported(ward, ward.write("meters.csv", "meter,model,serial,ward,enrolled,state\n" + meter + ",K-2,1,W1,2020-01-01,\n")).status, 0);
    const std::string pdf = ward.folder() + "/review.pdf";
    const Ran review = runCli(ward.command({ QStringLiteral("review"), QStringLiteral("2020-03"), QStringLiteral("--out=") + words(pdf) }));
    ASSERT_EQ(review.status, 0) << review.err;
    QProcess reader;
    reader.start(QStringLiteral("pdftotext"), { QStringLiteral("-raw"), words(pdf), QStringLiteral("-") });
    ASSERT_TRUE(reader.waitForFinished(60'000));
    std::string text = reader.readAllStandardOutput().toStdString();
    std::erase_if(text, [](char c) { return c == '\n' || c == ' ' || c == '\f'; }); // a column may break it
    EXPECT_NE(text.find("<b>M7</b>"), std::string::npos) << text.substr(0, 2000);
    EXPECT_EQ(text.find("root:x:0"), std::string::npos);
}

TEST(HostileText, IdsNeverBecomeFileNames)
{
    const FaultWard ward;
    const std::string path = ward.write("meters.csv",
        "meter,model,serial,ward,enrolled,state\n../../../escaped,K-2,1,W1,2020-01-01,\n/tmp/escaped.csv,K-2,2,W1,2020-01-01,\n");
    ASSERT_EQ(imported(ward, path).status, 0);
    ASSERT_EQ(imported(ward, ward.write("wards.csv", "ward,name\n../W9,../../x\n")).status, 0);
    const QString out = words(ward.folder() + "/deep/er/out");
    ASSERT_EQ(runCli(ward.command({ QStringLiteral("export"), QStringLiteral("--format=all"), QStringLiteral("--out=") + out })).status, 0);
    EXPECT_EQ(QDir(out).entryList(QDir::Dirs | QDir::NoDotAndDotDot | QDir::Hidden).size(), 0);
    EXPECT_EQ(QDir(words(ward.folder() + "/deep")).entryList(QDir::AllEntries | QDir::NoDotAndDotDot | QDir::Hidden),
        QStringList { QStringLiteral("er") });
    for (const QString& name : QDir(out).entryList(QDir::Files | QDir::Hidden))
        EXPECT_FALSE(name.contains(QStringLiteral("escaped"))) << name.toStdString();
    EXPECT_FALSE(QFile::exists(QStringLiteral("/tmp/escaped.csv")));
}

TEST(HostileFolder, WithLinksPipesAndDevicesIsRefusedWithoutWaiting)
{
    const FaultWard ward;
    const std::string before = ward.head();
    const std::string folder = ward.folder() + "/given";
    const std::string wards = folder + "/wards.csv";
    const auto fresh = [&] {
        QDir(words(folder)).removeRecursively();
        QDir().mkpath(words(folder));
    };
    const auto refusedSoon = [&](const std::string& path, const std::vector<const char*>& names) {
        QElapsedTimer time;
        time.start();
        expectRefused(imported(ward, path), names);
        EXPECT_LT(time.elapsed(), 30'000);
    };
    const std::string secret = ward.write("secret.txt", "ward,name\nhidden,secret\n");
    fresh();
    ASSERT_EQ(::symlink(secret.c_str(), wards.c_str()), 0);
    refusedSoon(folder, { "wards.csv", "link that leads out" });
    fresh();
    ASSERT_EQ(::mkfifo(wards.c_str(), 0600), 0);
    refusedSoon(folder, { "wards.csv", "no file" });
    refusedSoon(wards, { "wards.csv", "no file" });
    fresh();
    ASSERT_EQ(::symlink("/dev/zero", wards.c_str()), 0);
    refusedSoon(folder, { "wards.csv", "no file" });
    refusedSoon(wards, { "wards.csv", "no file" });
    fresh();
    ASSERT_EQ(::symlink("nowhere", wards.c_str()), 0);
    refusedSoon(folder, { "wards.csv", "no file" });
    fresh();
    ASSERT_EQ(::symlink("wards.csv", wards.c_str()), 0); // to itself
    refusedSoon(folder, { "wards.csv" });
    fresh(); // a gigabyte that takes no room on the disk
    std::ofstream(wards).close();
    ASSERT_EQ(::truncate(wards.c_str(), 1 << 30), 0);
    refusedSoon(folder, { "wards.csv", "larger than 512 MiB" });
    EXPECT_EQ(ward.head(), before);

    // A link within the folder is a file like another.
    fresh();
    std::ofstream(folder + "/mine.txt") << "ward,name\nW8,x\n";
    ASSERT_EQ(::symlink("mine.txt", wards.c_str()), 0);
    EXPECT_EQ(imported(ward, folder).status, 0);
}

TEST(HostileSize, OfLinesColumnsSettingsAndRunsIsBounded)
{
    const FaultWard ward;
    const std::string before = ward.head();
    std::string columns = "c0";
    for (int i = 1; i < 1'000'000; ++i)
        columns += ",c" + std::to_string(i);
    expectRefused(imported(ward, ward.write("wards.csv", columns + "\n")), { "wards.csv", "line 1", "1000000 cells" });
    expectRefused(imported(ward, ward.write("wards.csv", "ward,name\nW7," + std::string(20U << 20U, 'x') + "\n")),
        { "wards.csv", "line 2", "16 MiB" });
    std::string open = "ward,name\nW7,\"";
    for (int i = 0; i < 1'000'000; ++i)
        open += "a line of many, none of which ends the quote\n";
    expectRefused(imported(ward, ward.write("wards.csv", open)), { "wards.csv", "line 2", "16 MiB" });

    std::string rules = "rules = 1-3s";
    for (int i = 0; i < 20'000; ++i)
        rules += ",1-3s";
    expectRefused(
        runCli(ward.command({ QStringLiteral("policy"), QStringLiteral("check"), words(ward.write("many.policy", rules + "\n")) })),
        { "many.policy", "line 1" });
    std::string settings;
    for (int i = 0; i < 1'000'000; ++i)
        settings += "s" + std::to_string(i) + " = 1\n";
    expectRefused(runCli(ward.command({ QStringLiteral("policy"), QStringLiteral("check"), words(ward.write("many.policy", settings)) })),
        { "many.policy", "256 KiB" });
    expectRefused(runCli(ward.command({ QStringLiteral("policy"), QStringLiteral("check"),
                      words(ward.write("deep.policy",
                          [] {
                              std::string deep;
                              for (int i = 0; i < 100'000; ++i)
                                  deep += "{\"a\":";
                              return deep;
                          }())) })),
        { "deep.policy" });

    QStringList many = ward.command({ QStringLiteral("--operator=hale"), QStringLiteral("run"), QStringLiteral("add"),
        QStringLiteral("--meter=M-01"), QStringLiteral("--strip-vial=S1-1") });
    for (int i = 0; i < 20'000; ++i) // the system takes no more
        many << QStringLiteral("--run=low:CL-1=46");
    expectRefused(runCli(many), { "--run", "20000" });
    expectRefused(runCli(ward.command({ QStringLiteral("meter"), QString(120'000, QLatin1Char('M')) })), { "MMM" });
    EXPECT_EQ(ward.head(), before);
}

} // namespace mk::faults
