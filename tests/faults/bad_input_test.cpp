// SPDX-License-Identifier: GPL-3.0-or-later
// What a person or a script gets wrong: one clear line, exit 2, and the journal stands where it stood.
#include "fault_ward.h"

#include <gtest/gtest.h>

namespace mk::faults {

namespace {

/// One thing wrong: what was typed, and what the line must speak of.
struct Mistake {
    const char* typed;
    std::vector<const char*> names;
};

QStringList words(const char* typed)
{
    return QString::fromUtf8(typed).split(QLatin1Char(' '), Qt::SkipEmptyParts);
}

void expectRefused(const FaultWard& ward, const Ran& ran, const std::vector<const char*>& names, const std::string& headBefore)
{
    EXPECT_EQ(ran.status, 2) << ran.out;
    expectOneLine(ran.err);
    for (const char* name : names)
        EXPECT_NE(ran.err.find(name), std::string::npos) << "does not speak of " << name << ": " << ran.err;
    EXPECT_EQ(ward.head(), headBefore);
}

void expectCommandsRefused(const std::vector<Mistake>& mistakes)
{
    const FaultWard ward;
    const std::string before = ward.head();
    for (const auto& mistake : mistakes) {
        SCOPED_TRACE(mistake.typed);
        const Ran ran = runCli(ward.command(words(mistake.typed)));
        expectRefused(ward, ran, mistake.names, before);
        EXPECT_EQ(ran.out, "");
    }
}

/// Each text is a control_runs.csv whose import must be refused as a whole.
void expectFilesRefused(const FaultWard& ward, const std::vector<std::pair<std::string, std::vector<const char*>>>& files)
{
    const std::string before = ward.head();
    for (const auto& [bytes, names] : files) {
        SCOPED_TRACE(bytes);
        const std::string path = ward.write("control_runs.csv", bytes);
        expectRefused(ward, runCli(ward.command({ QStringLiteral("import"), QString::fromStdString(path) })), names, before);
    }
}

} // namespace

TEST(BadFile, CutOffInTheMiddleIsRefusedWithItsLine)
{
    const FaultWard ward;
    const std::string whole = runsHeader() + runsRow("s-1", 0, "low", "46") + runsRow("s-1", 2, "high", "300");
    expectFilesRefused(ward,
        {
            { whole.substr(0, whole.rfind(",mg/dL") - 2), { "control_runs.csv", "line 3", "cells" } },
            { runsHeader().substr(0, 3)
                    + ",result,unit,at,meter,operator,strip_vial,level,control_vial\ns-1,46,mg/dL,2020-03-01T05:00Z,M-01,hale,S1-1,low,CL",
                { "control_runs.csv", "line 2", "'CL'" } }, // as many cells as the header, the last one cut
            { runsHeader() + "s-1,2020-03-01T05:00Z,M-01,hale,S1-1,low,CL-1,46,mg/dL,,,\"it was",
                { "control_runs.csv", "line 2", "quote" } },
            { runsHeader().substr(0, 20), { "control_runs.csv", "line 1" } },
        });
}

TEST(BadFile, NamesTheRowThatIsWrongAndTakesNothingOver)
{
    const FaultWard ward;
    const std::string good = runsHeader() + runsRow("s-1", 0, "low", "46");
    expectFilesRefused(ward,
        {
            { good + runsRow("s-1", 2, "high", "300", "mg/dL", "M-99"), { "control_runs.csv", "line 3", "M-99" } },
            { good + runsRow("s-1", 2, "high", "300", "mg/l"), { "control_runs.csv", "line 3", "mg/l" } },
            { good + runsRow("s-1", 2, "high", "601"), { "control_runs.csv", "line 3", "601", "K-2", "HI" } }, // the model shows 20 to 600
            { good + runsRow("s-1", 2, "high", "19"), { "control_runs.csv", "line 3", "19" } },
            { good + runsRow("s-1", 2, "high", "3O0"), { "control_runs.csv", "line 3", "3O0" } },
            { good + runsRow("s-1", 2, "higher", "300"), { "control_runs.csv", "line 3", "higher" } },
            { good + "s-1,2020-02-30T05:00,M-01,hale,S1-1,high,CH-1,300,mg/dL,,,\n", { "control_runs.csv", "line 3", "2020-02-30" } },
            { good + "s-1,2199-01-01T05:00,M-01,hale,S1-1,high,CH-1,300,mg/dL,,,\n", { "control_runs.csv", "line 3", "2199", "future" } },
            { good + "s-1,2020-03-01T05:00,M-01,nobody,S1-1,high,CH-1,300,mg/dL,,,\n", { "control_runs.csv", "line 3", "nobody" } },
            { good + "s-1,2020-03-01T05:00,M-01,hale,S9-9,high,CH-1,300,mg/dL,,,\n", { "control_runs.csv", "line 3", "S9-9" } },
            { good + "s-1,2020-03-01T05:00,M-01,hale,S1-1,high,CH-1,300,mg/dL,D15,,\n", { "control_runs.csv", "line 3", "D15" } },
            { good + "s-1,2020-03-01T05:00,M-01,hale,S1-1,high,CH-1,300,mg/dL,,,caf\xE9\n", { "control_runs.csv", "line 3", "UTF-8" } },
            { good + "s-1,2020-03-01T05:00,M-01,hale,S1-1,high,CH-1,300" + std::string(1, '\0') + ",mg/dL,,,\n",
                { "control_runs.csv", "line 3" } },
            { "PK\x03\x04 this is no table at all", { "control_runs.csv", "line 1" } },
            { "", { "control_runs.csv" } },
        });
}

TEST(BadFile, WithAKnownSetAndLevelButAnotherResultAsksForACorrection)
{
    const FaultWard ward;
    const std::string good = runsHeader() + runsRow("s-1", 0, "low", "46") + runsRow("s-1", 2, "high", "300");
    const Ran first = runCli(ward.command({ QStringLiteral("import"), QString::fromStdString(ward.write("control_runs.csv", good)) }));
    ASSERT_EQ(first.status, 0) << first.err;
    expectFilesRefused(ward,
        {
            { runsHeader() + runsRow("s-1", 0, "low", "47"), { "control_runs.csv", "line 2", "differs from entry", "correction" } },
            { runsHeader() + runsRow("s-1", 0, "low", "46.0"),
                { "control_runs.csv", "line 2", "differs from entry" } }, // as typed, not as a number
        });
    // Unchanged content is no mistake.
    const std::string before = ward.head();
    const Ran again = runCli(ward.command({ QStringLiteral("import"), QString::fromStdString(ward.write("control_runs.csv", good)) }));
    EXPECT_EQ(again.status, 0) << again.err;
    EXPECT_EQ(again.err, "");
    EXPECT_EQ(ward.head(), before);
}

TEST(BadFile, OfAnUnknownNameOrAtNoPlaceIsNamed)
{
    const FaultWard ward;
    const std::string before = ward.head();
    const QString missing = QString::fromStdString(ward.folder() + "/nowhere.csv");
    expectRefused(ward, runCli(ward.command({ QStringLiteral("import"), missing })), { "nowhere.csv" }, before);
    const QString other = QString::fromStdString(ward.write("notes.csv", "a,b\n1,2\n"));
    expectRefused(ward, runCli(ward.command({ QStringLiteral("import"), other })), { "notes.csv" }, before);
}

TEST(BadCommand, IsToldInOneLine)
{
    expectCommandsRefused({
        { "boards", { "boards" } },
        { "", { "command" } },
        { "board --wards W1", { "--wards" } },
        { "board --ward W9", { "W9" } },
        { "meter M-99", { "M-99" } },
        { "board --at yesterday", { "--at", "yesterday" } },
        { "board --at 2020-13-01T06:00", { "--at", "2020-13-01" } },
        { "board --as-of 0", { "--as-of", "0" } },
        { "board --as-of 9999", { "--as-of", "9999" } },
        { "board --as-of -3", { "--as-of", "-3" } },
        { "board --as-of newest", { "as-of", "newest" } },
        { "verify --head 12ab", { "--head", "12ab" } },
        { "review 2020-13", { "2020-13" } },
    });
}

TEST(BadSet, IsRefusedBeforeAnythingIsStored)
{
    expectCommandsRefused({
        { "run add --meter M-01 --strip-vial S1-1 --run low:CL-1=46", { "--operator" } },
        { "--operator nobody run add --meter M-01 --strip-vial S1-1 --run low:CL-1=46", { "nobody" } },
        { "--operator hale run add --meter M-99 --strip-vial S1-1 --run low:CL-1=46", { "M-99" } },
        { "--operator hale run add --meter M-01 --strip-vial S9-9 --run low:CL-1=46", { "S9-9" } },
        { "--operator hale run add --meter M-01 --strip-vial S1-1 --run low:CL-9=46", { "CL-9" } },
        { "--operator hale run add --meter M-01 --strip-vial S1-1 --run low:CL-1", { "--run", "low:CL-1", "LEVEL:CONTROL_VIAL=RESULT" } },
        { "--operator hale run add --meter M-01 --strip-vial S1-1 --run CL-1=46", { "--run", "CL-1=46" } },
        { "--operator hale run add --meter M-01 --strip-vial S1-1 --run low:=46", { "--run", "low:=46" } },
        { "--operator hale run add --meter M-01 --strip-vial S1-1 --run medium:CL-1=46", { "--run", "medium" } },
        { "--operator hale run add --meter M-01 --strip-vial S1-1 --run low:CL-1=4,6", { "--run", "4,6" } },
        { "--operator hale run add --meter M-01 --strip-vial S1-1 --run low:CL-1=", { "--run", "low:CL-1=" } },
        { "--operator hale run add --meter M-01 --strip-vial S1-1 --run low:CL-1=46 --run high:CH-1=601", { "601", "K-2" } },
        { "--operator hale run add --meter M-01 --strip-vial S1-1 --run low:CL-1=46 --unit mg", { "--unit", "mg" } },
        { "--operator hale run add --meter M-01 --strip-vial S1-1 --run low:CL-1=46 --reason D99", { "D99" } },
        { "--operator hale --at 2199-01-01T06:00 run add --meter M-01 --strip-vial S1-1 --run low:CL-1=46", { "2199", "future" } },
        { "--operator hale --as-of 2 run add --meter M-01 --strip-vial S1-1 --run low:CL-1=46", { "--as-of" } },
        { "--operator hale run add --meter M-01 --run low:CL-1=46", { "--strip-vial" } },
    });
}

TEST(BadAct, IsRefusedBeforeAnythingIsStored)
{
    expectCommandsRefused({
        { "act note --meter M-01 --text looked", { "--operator" } },
        { "--operator hale act sing --meter M-01", { "sing" } },
        { "--operator hale act incident --meter M-01 --kind exploded", { "exploded" } },
        { "--operator hale act incident --kind dropped", { "--meter" } },
        { "--operator hale act annulment --file control_runs.csv --key s-9/low/1 --reason typo", { "s-9/low/1" } },
        { "--operator hale act correction --set s-9 --level low --column result --old 46 --new 47 --reason typo", { "s-9" } },
    });
}

} // namespace mk::faults
