// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/refusal.h"
#include "words/faults.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

namespace mk::words {
namespace {

using registry::desk::Refusal;

TEST(Refusals, EachRowHasOneCodeAndOneSentence)
{
    std::set<std::string_view> codes;
    for (const auto& row : registry::desk::refusalRows()) {
        EXPECT_TRUE(codes.insert(row.code).second) << row.code << " stands twice";
        EXPECT_EQ(std::ranges::count(deskSentences(), row.code, &FaultSentence::code), 1) << row.code;
        EXPECT_EQ(registry::desk::rowOf(row.refusal).code, row.code);
    }
    for (const auto& sentence : deskSentences())
        EXPECT_TRUE(codes.contains(sentence.code)) << sentence.code << " is no refusal";
}

TEST(Refusals, PutWhatBelongsInTheirPlaces)
{
    const auto fault = registry::desk::refuse(
        Refusal::VialOfStoppedLot, std::string("%2"), std::string("S1"), registry::LotEventKind::Quarantined);
    EXPECT_EQ(fault.kind, base::FaultKind::Refused);
    EXPECT_EQ(fault.code, "vial-of-stopped-lot");
    EXPECT_TRUE(fault.text.empty());
    const QString line = said(fault);
    EXPECT_TRUE(line.contains(QStringLiteral("'%2'"))) << "as it was typed";
    EXPECT_TRUE(line.contains(QStringLiteral("'S1' is quarantined"))) << line.toStdString();
}

} // namespace
} // namespace mk::words
