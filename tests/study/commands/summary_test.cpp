// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/summary.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

namespace mk::study {

using testing_studies::runStudies;
using testing_studies::studyCsv;
using testing_studies::studyRefusal;

TEST(StudySummaryCommand, PrintsWhatTheContractNames)
{
    const auto outcome = runStudies({ "summary", studyCsv("n,value\n1,4\n2,6\n"), "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out.find(R"({"format":1,"n":2,"mean":5,"sd":1.4142135623730951,"cv_percent":28.2842712474619)"), 0U) << outcome.out;
    EXPECT_NE(outcome.out.find(R"("median":5,"min":4,"max":6,"mean_ci":[)"), std::string::npos);
    EXPECT_NE(outcome.out.find(R"("ignored_columns":["n"])"), std::string::npos);
}

TEST(StudySummaryCommand, GivesNullForWhatOneValueCannotTell)
{
    const auto outcome = runStudies({ "summary", studyCsv("value\n5.6"), "--json" });
    EXPECT_NE(outcome.out.find(R"("sd":null,"cv_percent":null)"), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find(R"("mean_ci":null,"sd_ci":null)"), std::string::npos);
    EXPECT_NE(studyRefusal({ "summary" }, "value\n").find("has no rows below its header"), std::string::npos);
    EXPECT_NE(studyRefusal({ "summary" }, "value\n5.6\ninf\n").find("line 3: 'inf' under 'value'"), std::string::npos);
}

} // namespace mk::study
