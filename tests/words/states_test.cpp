// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/states.h"

#include "words/board.h"
#include "words/said.h"
#include "words/terms.h"

namespace mk::words {
namespace {

using namespace registry;

TEST(States, EachHasItsRowAndEverySentence)
{
    for (std::size_t at = 0; at < std::size(Words<MeterState>::all); ++at) {
        const auto state = static_cast<MeterState>(at);
        const StateSentences& row = sentencesOf(state);
        SCOPED_TRACE(word(state));
        EXPECT_EQ(row.state, state);
        for (const char* sentence : { row.answer, row.onBoard, row.since, row.wayBack })
            EXPECT_NE(sentence, nullptr);
        EXPECT_TRUE(QLatin1String(row.since).contains(QLatin1String("%1")));
    }
}

TEST(States, NothingEscapesTranslation)
{
    const test::Pseudo pseudo;
    for (std::size_t at = 0; at < std::size(Words<MeterState>::all); ++at) {
        Fitness fitness;
        fitness.state = static_cast<MeterState>(at);
        test::expectTranslated(stateAnswer(fitness.state));
        test::expectTranslated(boardAnswer(fitness));
    }
}

} // namespace
} // namespace mk::words
