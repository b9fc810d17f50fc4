// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/lot_commands.h"

#include "cli/registry_commands.h"
#include "exchange/registry_csv.h"
#include "store/registrar/registrar.h"

#include <CLI/CLI.hpp>
#include <QTemporaryDir>
#include <gtest/gtest.h>

namespace mk::cli {
namespace {

const std::pair<const char*, const char*> kFiles[] = {
    { "wards.csv", "ward,name\nW1,Ward one\nW2,Ward two\n" },
    { "models.csv",
        "model,unit,low,high,haematocrit_low,haematocrit_high,needs_code,shared_use,market_approval\nK1,mg/dL,20,600,20,65,no,yes,\n" },
    { "meters.csv", "meter,model,serial,ward,enrolled,state\nM1,K1,1,W1,2026-05-01,\nM2,K1,2,W1,2026-05-01,\n" },
    { "operators.csv",
        "operator,name,role,competent_from,competent_until\nN1,Nurse one,nurse,2026-01-01,2030-12-31\nC1,Coordinator,coordinator,,\n" },
    { "strip_lots.csv",
        "lot,model,gtin,code,expiry,open_period,received,released\nS1,K1,,,2026-06-20,90 d,2026-05-01T05:00,2026-05-01T05:00\n" },
    { "strip_vials.csv", "vial,lot,opened,ward\nV1,S1,2026-05-01T05:00,W1\nV2,S1,2026-05-01T05:00,W2\n" },
    { "control_lots.csv",
        "lot,level,expiry,open_period,received\nCL,low,2030-12-31,20 d,2026-05-01\nCH,high,2030-12-31,24 m,2026-05-01\n" },
    { "control_vials.csv", "vial,lot,opened,ward\nL1,CL,2026-05-01T05:00,W1\nH1,CH,2026-05-01T05:00,W1\n" },
    { "ranges.csv",
        "strip_lot,control_lot,level,unit,low,high,mean,sd,stage,from\nS1,CL,low,mg/dL,48,72,,,range,2026-05-01T05:00\n"
        "S1,CH,high,mg/dL,255,345,,,range,2026-05-01T05:00\n" },
};

struct Ran {
    int status = -1;
    std::string out, err;
};

class LotCommands : public testing::Test {
protected:
    void SetUp() override
    {
        path = folder.filePath(QStringLiteral("ward.mkr")).toStdString();
        auto session = store::Session::create(path).value();
        ASSERT_TRUE(store::found(*session, "Europe/Berlin", {}, { {}, "test" }, store::machineClock));
        const auto zone = registry::Zone::named("Europe/Berlin").value();
        std::string runs = "set,at,meter,operator,strip_vial,level,control_vial,result,unit\n";
        for (int day = 1; day <= 20; ++day) {
            const std::string date = "2026-05-" + std::string(day < 10 ? "0" : "") + std::to_string(day);
            runs += "a" + std::to_string(day) + "," + date + "T07:00,M1,N1,V1,low,L1," + std::to_string(59 + day % 3) + ",mg/dL\n";
            runs += "a" + std::to_string(day) + "," + date + "T07:02,M1,N1,V1,high,H1," + std::to_string(298 + day % 5) + ",mg/dL\n";
        }
        std::vector<registry::FileRows> rows;
        for (const auto& [name, text] : kFiles)
            rows.push_back(exchange::readRegistryFile(name, text, zone));
        rows.push_back(exchange::readRegistryFile("control_runs.csv", runs, zone));
        auto registrar = store::Registrar::open(*session, store::machineClock).value();
        const auto report = registrar->importFiles(std::move(rows), { {}, "test" });
        ASSERT_TRUE(report);
        ASSERT_FALSE(report->anyRejected());
    }

    Ran run(std::vector<std::string> words)
    {
        Globals globals;
        globals.registry = path;
        std::function<int()> chosen;
        CLI::App app;
        app.add_option("--operator", globals.person);
        app.add_option("--at", globals.at);
        app.add_flag("--json", globals.json);
        addLotCommands(app, globals, chosen);
        addLimitCommands(app, globals, chosen);
        addRecordCommands(app, globals, chosen);
        std::reverse(words.begin(), words.end());
        testing::internal::CaptureStdout();
        testing::internal::CaptureStderr();
        Ran ran { 2, {}, {} };
        try {
            app.parse(words);
            ran.status = chosen();
        } catch (const CLI::ParseError& error) {
            ran.err = error.what();
        }
        ran.out = testing::internal::GetCapturedStdout();
        ran.err += testing::internal::GetCapturedStderr();
        return ran;
    }

    QTemporaryDir folder;
    std::string path;
};

void expectParts(const Ran& ran, std::initializer_list<const char*> parts)
{
    EXPECT_EQ(ran.status, 0) << ran.err;
    for (const char* part : parts)
        EXPECT_NE(ran.out.find(part), std::string::npos) << part << " in " << ran.out;
}

TEST_F(LotCommands, AnAnsweredQuestionIsNotAskedAgain)
{
    const std::vector<std::string> add { "--json", "--operator", "N1", "--at", "2026-05-19T07:30", "run", "add", "--meter", "M1",
        "--strip-vial", "V1", "--run", "low:L1=60.5" };
    std::vector<std::string> answered = add;
    answered.insert(answered.end(), { "--set", "other", "--question", "60.5 is unlikely in mg/dL.", "--answer", "It shows mg/dL" });
    const Ran asked = run(add);
    EXPECT_NE(asked.out.find(R"("code":"decimal")"), std::string::npos) << asked.out << asked.err;
    const Ran again = run(answered);
    EXPECT_NE(again.out.find(R"("questions":[])"), std::string::npos) << again.out << again.err;
}

TEST_F(LotCommands, TraceALotToItsVialsMetersAndDecisions)
{
    expectParts(run({ "--json", "--at", "2026-05-20T12:00", "trace", "lot", "S1" }),
        { R"("lot":"S1","kind":"strip","state":"released")", R"("vial":"V1","lot":"S1","kind":"strip","ward":"W1","state":"open")",
            R"("runs":40,"sets":20)", R"("meter":"M1","first":"2026-05-01T07:00:00+02:00","last":"2026-05-20T07:02:00+02:00","runs":40)",
            R"("cleared_only_by_it":["M1"])" });
    expectParts(run({ "--json", "--at", "2026-05-20T12:00", "trace", "lot", "CL" }),
        { R"("kind":"control")", R"("runs":20,"sets":20,"verdicts":{"accepted":20})" });
    expectParts(run({ "trace", "vial", "V2" }), { "V2", "0 runs" });
    EXPECT_EQ(run({ "trace", "lot", "S9" }).status, 2);
    EXPECT_NE(run({ "trace", "lot", "S9" }).err.find("no lot is called 'S9'"), std::string::npos);
}

TEST_F(LotCommands, TraceAMeterToItsLotsAndVials)
{
    expectParts(run({ "--json", "trace", "meter", "M1" }),
        { R"("strip_lots":[{"id":"S1","first":"2026-05-01T07:00:00+02:00")", R"("control_vials":[{"id":"H1")",
            R"("strip_vials":[{"id":"V1")" });
    expectParts(run({ "--json", "trace", "meter", "M2" }), { R"("runs":0,"strip_lots":[])" });
}

TEST_F(LotCommands, TraceANoticeToWhatItHitsAndWhatWasDone)
{
    EXPECT_EQ(run({ "--operator", "C1", "act", "notice", "--notice", "FSN-1", "--text", "reads high", "--lot", "S1", "--vial-from", "1",
                      "--vial-to", "1" })
                  .status,
        0);
    expectParts(run({ "--json", "trace", "notice", "FSN-1" }),
        { R"("hit_meters":[],"hit_lots":[])", R"("vial":"V1")", R"("state":"quarantined")", R"("without_action":["V1"])", R"("runs":40)",
            R"("closed":null)" });
    EXPECT_EQ(run({ "--operator", "N1", "act", "notice-item", "--notice", "FSN-1", "--item", "V1", "--action", "sent back" }).status, 0);
    expectParts(run({ "--json", "trace", "notice", "FSN-1" }), { R"("item":"V1","action":"sent back")", R"("without_action":[])" });
    EXPECT_EQ(run({ "trace", "notice", "FSN-1" }).out.find("V2"), std::string::npos) << "outside the range";
}

TEST_F(LotCommands, AVialFoundOpenIsRecordedWithoutATimeOfOpening)
{
    EXPECT_EQ(
        run({ "--operator", "N1", "act", "control-vial", "--vial", "L9", "--lot", "CL", "--ward", "W1", "--found-open", "yes" }).status, 0);
    expectParts(run({ "--json", "trace", "vial", "L9" }), { R"("state":"found-open","opened":null)" });
}

TEST_F(LotCommands, StockNamesWhatExpiresAndWhatRunsLow)
{
    EXPECT_EQ(run({ "--at", "2026-05-02T08:00", "--operator", "N1", "act", "shipment", "--lot", "S1", "--shipment", "D-1", "--vials", "4" })
                  .status,
        0);
    const Ran w1 = run({ "--json", "--at", "2026-05-25T12:00", "stock", "--ward", "W1" });
    expectParts(w1,
        { R"("expired_open":[{"vial":"L1")", R"("vial":"V1","lot":"S1","ward":"W1","last_day":"2026-06-20")",
            R"("lots_expiring_soon":["S1"])", R"("lots_running_low":["S1"])", R"("unopened":2)" });
    EXPECT_EQ(w1.out.find("V2"), std::string::npos) << "another ward's";
    EXPECT_NE(run({ "--json", "--at", "2026-05-25T12:00", "stock" }).out.find("V2"), std::string::npos);
    EXPECT_NE(run({ "stock", "--ward", "W9" }).status, 0);
}

TEST_F(LotCommands, LimitsAreProposedBesideWhatIsInForceAndAcceptedByTheCoordinator)
{
    expectParts(run({ "--json", "--at", "2026-05-21T12:00", "limits", "propose", "--level", "high" }),
        { R"("strip_lot":"S1","control_lot":"CH","level":"high","meter":null,"stage":"established","acceptable":true,"runs":20,"days":20,"meters":1)",
            R"("mean_typed":"300.0")", R"("in_force":{"low":"255","high":"345","unit":"mg/dL","mean":null,"sd":null,"stage":"range")",
            R"("mean_ci":[)" });
    const std::vector<std::string> rest { "limits", "accept", "--strip-lot", "S1", "--control-lot", "CH", "--level", "high", "--reason",
        "twenty days" };
    std::vector<std::string> nurse { "--operator", "N1" }, coordinator { "--operator", "C1" };
    nurse.insert(nurse.end(), rest.begin(), rest.end());
    coordinator.insert(coordinator.end(), rest.begin(), rest.end());
    EXPECT_NE(run(nurse).err.find("only the coordinator"), std::string::npos);
    EXPECT_EQ(run(coordinator).status, 0);
    expectParts(run({ "--json", "limits", "propose", "--level", "high" }), { R"("mean":"300.0","sd":"1.45","stage":"established")" });
}

} // namespace
} // namespace mk::cli
