// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/commands.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <sstream>

namespace mk::study {

using testing_studies::runStudies;
using testing_studies::studyHelp;

TEST(StudyCommands, SayWhichFileCannotBeRead)
{
    for (const std::string& path : { testing::TempDir() + "no_such_file.csv", testing::TempDir() }) {
        const auto outcome = runStudies({ "summary", path });
        EXPECT_EQ(outcome.status, 2);
        EXPECT_EQ(outcome.err, path + " cannot be read; check its name, and that you may read it\n");
    }
}

TEST(StudyCommands, HaveHelpWithAnExample)
{
    for (const char* name :
        { "rules", "drift", "summary", "robust", "precision", "anova", "linearity", "lots", "compare", "grid", "power", "sigma" }) {
        const std::string help = studyHelp(name);
        EXPECT_NE(help.find("Example:\n  meterkeep-cli study " + std::string(name)), std::string::npos) << help;
    }
}

TEST(StudyCommands, AreListedOneShortLineEach)
{
    const std::string help = studyHelp({});
    const std::string list = help.substr(help.find("Subcommands:\n"), help.find("Example:") - help.find("Subcommands:\n"));
    EXPECT_EQ(std::ranges::count(list, '\n'), 1 + 12 + 1) << list; // the heading, the studies, an empty line
    std::istringstream lines(list);
    for (std::string line; std::getline(lines, line);)
        EXPECT_LE(line.size(), 120U) << line;
}

} // namespace mk::study
