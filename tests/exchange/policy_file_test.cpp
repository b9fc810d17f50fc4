// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/policy_file.h"

#include "registry/policy/policy.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>

namespace mk::exchange {
namespace {

std::string refusalOf(const std::string& bytes)
{
    const auto read = readPolicyDocument(bytes, "ward.policy");
    return read ? std::string() : read.error().text;
}

std::map<std::string, std::string> shippedProfiles()
{
    std::map<std::string, std::string> profiles;
    for (const auto& entry : std::filesystem::directory_iterator(MK_SOURCE_DIR "/db/policy")) {
        std::ostringstream text;
        text << std::ifstream(entry.path(), std::ios::binary).rdbuf();
        profiles[entry.path().filename().string()] = text.str();
    }
    return profiles;
}

} // namespace

TEST(PolicyDocumentFile, ReadsASettingALineWithRemarks)
{
    const auto lines = readPolicyDocument("# ours\n\nclearance_hours = 12   # own choice\r\n  rules=1-3s,2-2s\n", "ward.policy");
    ASSERT_TRUE(lines) << lines.error().text;
    ASSERT_EQ(lines->size(), 2U);
    EXPECT_EQ((*lines)[0].key, "clearance_hours");
    EXPECT_EQ((*lines)[0].text, "12");
    EXPECT_EQ((*lines)[0].line, 3U);
    EXPECT_EQ((*lines)[1].key, "rules");
    EXPECT_EQ((*lines)[1].text, "1-3s,2-2s");
    EXPECT_EQ((*lines)[1].line, 4U);
}

TEST(PolicyDocumentFile, ReadsJsonAsBefore)
{
    const auto lines = readPolicyDocument("{\n \"clearance_hours\": 12,\n \"rules\": \"1-3s\"\n}", "ward.json");
    ASSERT_TRUE(lines) << lines.error().text;
    ASSERT_EQ(lines->size(), 2U);
    EXPECT_EQ((*lines)[0].text, "12");
    EXPECT_EQ((*lines)[0].line, 2U);
    EXPECT_EQ((*lines)[1].line, 3U);
    EXPECT_EQ(readPolicyFile("{\"a\": \"b\"}", "x")->front().second, "b");
}

TEST(PolicyDocumentFile, SaysOnWhichLineItIsWrong)
{
    EXPECT_NE(refusalOf("clearance_hours = 12\nrules\n").find("ward.policy line 2"), std::string::npos);
    EXPECT_NE(refusalOf(" = 12\n").find("line 1"), std::string::npos);
    EXPECT_NE(refusalOf("{\n\"a\": 1,\n\"b\" 2}").find("ward.policy line 3"), std::string::npos);
    EXPECT_NE(refusalOf("[1]").find("one JSON object"), std::string::npos);
    EXPECT_NE(refusalOf("{\"a\": [1]}").find("'a'"), std::string::npos);
    EXPECT_NE(refusalOf(" \n").find("empty"), std::string::npos);
}

TEST(ShippedProfiles, EachIsSoundAndNamesWhereEverySettingComesFrom)
{
    const auto profiles = shippedProfiles();
    EXPECT_EQ(profiles.size(), 4U);
    const auto all = registry::defaultPolicySettings();
    for (const auto& [name, text] : profiles) {
        const auto lines = readPolicyDocument(text, name);
        ASSERT_TRUE(lines) << lines.error().text;
        const auto settings = settingsOf(*lines);
        for (const auto& fault : registry::policyFaults(settings))
            ADD_FAILURE() << name << " line " << (*lines)[fault.at].line << ": " << fault.text;
        EXPECT_EQ(settings.size(), all.size()) << name << " shows every setting";
        std::istringstream in(text);
        for (std::string line; std::getline(in, line);)
            EXPECT_TRUE(line.empty() || line[0] == '#' || line.size() > line.find('#') + 5) << name << ": no source behind " << line;
    }
}

TEST(ShippedProfiles, AreWhatTheirNamesSay)
{
    const auto profiles = shippedProfiles();
    const auto policyOf = [&](const std::string& name) {
        const auto settings = readPolicyFile(profiles.at(name), name);
        return registry::policyFrom(*settings).value();
    };
    const auto settings = readPolicyFile(profiles.at("daily-two-levels.policy"), "daily");
    EXPECT_EQ(registry::completePolicy(*settings), registry::completePolicy({})) << "the default, spelled out";
    EXPECT_EQ(policyOf("monthly-comparison.policy").comparisonInterval, (base::Period { 1, base::Period::Unit::Months }));
    const auto laboratory = policyOf("laboratory-grade.policy");
    EXPECT_EQ(laboratory.calibrationInterval, (base::Period { 6, base::Period::Unit::Months }));
    EXPECT_EQ(laboratory.roleOf(stats::Rule::OneTwoS), registry::RuleRole::Warn);
    EXPECT_EQ(laboratory.driftBlocks, registry::DriftBlocks::Always);
    EXPECT_TRUE(laboratory.marksOnly(stats::Rule::TenX)) << "it would stop half of all days on meters that differ";
    const auto insert = policyOf("insert-only.policy");
    EXPECT_TRUE(insert.rules.empty());
    EXPECT_EQ(insert.driftBlocks, registry::DriftBlocks::Never);
}

TEST(PolicyDocument, SaysTheSameInEitherForm)
{
    // In JSON a text could hold what a line cannot: shown as lines, the second line of this one would be a setting.
    for (const char* json : { R"({"profile":"ours\nclearance_hours = 48"})", R"({"profile":"a # b"})", R"({"profile":" ours"})",
             R"({"profile":"\u001b[2J"})", R"({"a#b":"1"})" })
        EXPECT_FALSE(readPolicyFile(json, "ward.json")) << json;
    EXPECT_TRUE(readPolicyFile(R"({"profile":"ours: \"two\"","clearance_hours":24})", "ward.json"));
    const auto twice = readPolicyFile(R"({"clearance_hours":"24","clearance_hours":"48"})", "ward.json");
    ASSERT_FALSE(twice) << "the last would have held, without a word";
    EXPECT_EQ(twice.error().text, "ward.json gives a setting twice; keep one of them");
}

TEST(PolicyDocument, IsTextOfSensibleSize)
{
    const auto bytes = readPolicyFile("profile = \xff\n", "ward.policy");
    ASSERT_FALSE(bytes);
    EXPECT_NE(bytes.error().text.find("ward.policy line 1: the setting is not valid UTF-8"), std::string::npos) << bytes.error().text;
    EXPECT_FALSE(readPolicyFile("profile = " + std::string(501, 'x'), "ward.policy"));
    EXPECT_FALSE(readPolicyFile(std::string(300'000, '#'), "ward.policy"));
    std::string many;
    for (int i = 0; i < 1002; ++i)
        many += "k = 1\n";
    EXPECT_FALSE(readPolicyFile(many, "ward.policy"));
}

} // namespace mk::exchange
