// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/csv.h"

#include <gtest/gtest.h>

namespace mk::exchange {

namespace {

using Cells = std::vector<std::string>;

Cells cellsOf(const CsvRow& row)
{
    return Cells(row.cells.begin(), row.cells.end());
}

std::string csvFaultOf(std::string_view bytes)
{
    const auto table = parseCsv(bytes, "runs.csv");
    return table ? "no fault" : table.error().text;
}

CsvTable csvTableOf(std::string_view bytes)
{
    auto table = parseCsv(bytes, "runs.csv");
    EXPECT_TRUE(table) << table.error().text;
    return table ? std::move(table).value() : CsvTable();
}

} // namespace

TEST(ParseCsv, GivesHeaderAndRowsWithTheirLines)
{
    const CsvTable table = csvTableOf("set,level,result\n1,low,5.60\n1,high,\n");
    EXPECT_EQ(table.header, (Cells { "set", "level", "result" }));
    ASSERT_EQ(table.rows.size(), 2U);
    EXPECT_EQ(table.rows[0].line, 2U);
    EXPECT_EQ(cellsOf(table.rows[0]), (Cells { "1", "low", "5.60" }));
    EXPECT_EQ(cellsOf(table.rows[1]), (Cells { "1", "high", "" }));
}

TEST(ParseCsv, FindsColumnsByTheirExactName)
{
    const CsvTable table = csvTableOf("set,level\n");
    EXPECT_EQ(table.column("level"), std::optional<std::size_t>(1));
    EXPECT_EQ(table.column("Level"), std::nullopt);
    EXPECT_TRUE(table.rows.empty());
}

TEST(ParseCsv, ReadsTheSameWithByteOrderMarkCrlfAndNoLastLineEnd)
{
    const CsvTable plain = csvTableOf("a,b\n1,2\n3,4\n");
    const CsvTable other = csvTableOf("\xEF\xBB\xBF"
                                      "a,b\r\n1,2\r\n3,4");
    EXPECT_EQ(other.header, plain.header);
    ASSERT_EQ(other.rows.size(), plain.rows.size());
    for (std::size_t i = 0; i < plain.rows.size(); ++i) {
        EXPECT_EQ(cellsOf(other.rows[i]), cellsOf(plain.rows[i]));
        EXPECT_EQ(other.rows[i].line, plain.rows[i].line);
    }
}

TEST(ParseCsv, KeepsWhatStandsInQuotes)
{
    const CsvTable table = csvTableOf("a,b\n\" one, two \",\"he said \"\"no\"\"\"\n\"first\nsecond\",x\nlast,y\n");
    ASSERT_EQ(table.rows.size(), 3U);
    EXPECT_EQ(cellsOf(table.rows[0]), (Cells { " one, two ", "he said \"no\"" }));
    EXPECT_EQ(cellsOf(table.rows[1]), (Cells { "first\nsecond", "x" }));
    EXPECT_EQ(table.rows[1].line, 3U);
    EXPECT_EQ(table.rows[2].line, 5U);
}

TEST(ParseCsv, CountsLinesPastBlankOnes)
{
    const CsvTable table = csvTableOf("\na\n\n  \n1\n\r\n\"\n\n2\"\n3\n");
    ASSERT_EQ(table.rows.size(), 3U);
    EXPECT_EQ(table.rows[0].line, 5U);
    EXPECT_EQ(table.rows[1].line, 7U);
    EXPECT_EQ(table.rows[1].cells[0], "\n\n2");
    EXPECT_EQ(table.rows[2].line, 10U);
}

TEST(ParseCsv, DropsBlanksAroundCellsWithoutQuotesOnly)
{
    const CsvTable table = csvTableOf("a,b,c\n  5.6\t, two words , \" x \" \n");
    EXPECT_EQ(cellsOf(table.rows.at(0)), (Cells { "5.6", "two words", " x " }));
}

TEST(ParseCsv, KeepsAnEmptyCellInQuotesAsARowOfItsOwn)
{
    const CsvTable table = csvTableOf("a\n\"\"\n");
    ASSERT_EQ(table.rows.size(), 1U);
    EXPECT_EQ(cellsOf(table.rows[0]), (Cells { "" }));
}

TEST(ParseCsv, KeepsCharactersBeyondAscii)
{
    const CsvTable table = csvTableOf("n\xC3\xA4me\n\xE2\x82\xAC\n\xF0\x9F\x8F\xA5\n");
    EXPECT_EQ(table.header[0], "n\xC3\xA4me");
    EXPECT_EQ(table.rows[1].cells[0], "\xF0\x9F\x8F\xA5");
}

TEST(ParseCsv, NamesTheLineOfARowWithAnotherWidth)
{
    EXPECT_EQ(csvFaultOf("a,b,c\n1,2,3\n\n1,2\n"), "runs.csv line 4: has 2 cells where the header has 3; add the missing commas");
    EXPECT_NE(csvFaultOf("a,b\n1,2,\n").find("runs.csv line 2: has 3 cells where the header has 2"), std::string::npos);
}

TEST(ParseCsv, RefusesQuotesOutOfPlace)
{
    EXPECT_NE(csvFaultOf("a,b\n1,2\n5\"6,2\n").find("runs.csv line 3: has a misplaced quote"), std::string::npos);
    EXPECT_NE(csvFaultOf("a,b\n\"5\"6,2\n").find("runs.csv line 2: has a misplaced quote"), std::string::npos);
}

TEST(ParseCsv, NamesTheLineWhereAnUnclosedQuoteOpens)
{
    EXPECT_EQ(csvFaultOf("a,b\n1,2\n3,\"four\n5,6\n"), "runs.csv line 3: opens a quote that is never closed; the file may be truncated");
}

TEST(ParseCsv, RefusesALoneCarriageReturn)
{
    EXPECT_NE(csvFaultOf("a,b\n1,2\r3,4\n").find("line 2: has a lone carriage return"), std::string::npos);
    EXPECT_NE(csvFaultOf("a,b\r1,2\r3,4").find("line 1: has a lone carriage return"), std::string::npos);
}

TEST(ParseCsv, RefusesBytesThatAreNotUtf8)
{
    // Unicode standard table 3-7: overlong, surrogate, beyond U+10FFFF, cut short, stray trail byte (from memory).
    for (const std::string_view bad :
        { "\xC0\xAF", "\xE0\x80\xAF", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\xE2\x82", "\x80", "\xFF", "\xFC" }) {
        const std::string bytes = "a\n1\n" + std::string(bad) + "\n";
        EXPECT_EQ(csvFaultOf(bytes), "runs.csv line 3: is not valid UTF-8; save the file as UTF-8 text");
    }
    EXPECT_NE(csvFaultOf(std::string_view("a\n1\0\n", 5)).find("line 2: holds a NUL byte"), std::string::npos);
}

TEST(ParseCsv, RefusesAColumnThatStandsTwice)
{
    EXPECT_EQ(csvFaultOf("a,b,a\n"), "runs.csv line 1: names the column 'a' twice; keep one of them");
}

TEST(ParseCsv, RefusesAFileWithoutHeader)
{
    for (const std::string_view bytes : { "", "\n\n", "\xEF\xBB\xBF", "  \r\n" })
        EXPECT_EQ(csvFaultOf(bytes), "runs.csv has no header; its first line must name the columns");
}

TEST(ParseCsv, RefusesWhatIsMadeToFillTheMemory)
{
    EXPECT_NE(csvFaultOf(std::string(4096, ',') + "\n").find("line 1: has 4097 cells"), std::string::npos);
    EXPECT_NE(csvFaultOf("a\n\n" + std::string(1'000'000, ',') + "\n1,\"2\n").find("line 3: has 1000001 cells"), std::string::npos)
        << "and reads no further";
    EXPECT_NE(csvFaultOf("a\n" + std::string((16U << 20U) + 1, 'x')).find("line 2: begins a row of more than 16 MiB"), std::string::npos);
    std::string open = "a\n1\n\"";
    while (open.size() < (17U << 20U))
        open += "some line of many\n";
    EXPECT_NE(csvFaultOf(open).find("line 3: begins a row of more than 16 MiB"), std::string::npos);
}

TEST(Csv, SaysTheRefusedLineAsANumber)
{
    const auto lineOf = [](std::string_view bytes) { return std::get<CsvRefusal>(readCsv(bytes)).line; };
    EXPECT_EQ(lineOf("a,b\n1,2\n3\n"), 3U);
    EXPECT_EQ(lineOf("a,b\n1,2\n\"a line 9\n"), 3U);
    EXPECT_EQ(lineOf("a line 9,a line 9\n"), 1U) << "whatever is quoted in the text";
    EXPECT_EQ(lineOf(""), 0U);
}

} // namespace mk::exchange
