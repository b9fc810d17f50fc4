// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/people/secret_rules.h"

#include <gtest/gtest.h>

#include <string>

namespace mk::registry {
namespace {

bool taken(std::string_view secret, Role role = Role::Nurse, const char* id = "n-arlen")
{
    return static_cast<bool>(soundSecret(secret, base::OperatorId(id), role));
}

} // namespace

TEST(SecretRules, TakeAPinOfSixAndAPasswordOfEight)
{
    EXPECT_TRUE(taken("480517"));
    EXPECT_FALSE(taken("48051"));
    EXPECT_TRUE(taken("blue-cup"));
    EXPECT_FALSE(taken("bluecup"));
    EXPECT_TRUE(taken("T\xc3\xbcr 47 a")) << "characters are counted, and blanks are some";
    EXPECT_FALSE(taken("T\xc3\xbcr\xc3\xbcr\xc3\xa4")) << "six characters in nine bytes";
    EXPECT_FALSE(taken(""));
    EXPECT_FALSE(taken(std::string(201, 'x') + "yz"));
    EXPECT_FALSE(taken("blue\tcup 9"));
}

TEST(SecretRules, TakeNoPinFromACoordinator)
{
    EXPECT_FALSE(taken("480517", Role::Coordinator));
    EXPECT_FALSE(taken("48051732958812", Role::Coordinator));
    EXPECT_FALSE(taken("blue-cup9", Role::Coordinator));
    EXPECT_TRUE(taken("blue cup 9", Role::Coordinator));
}

TEST(SecretRules, RefuseWhatEverybodyTriesFirst)
{
    for (const char* trivial : { "111111", "000000", "123456", "1234567890", "987654", "890123", "121212", "123123", "abcdefgh", "aaaaaaaa",
             "hgfedcba", "xyzxyzxyz" })
        EXPECT_FALSE(taken(trivial)) << trivial;
    EXPECT_FALSE(taken("n-arlen1")) << "the id with a digit";
    EXPECT_FALSE(taken("N-ARLEN2026"));
    EXPECT_FALSE(taken("99n-arlen"));
    EXPECT_FALSE(taken("305172", Role::Nurse, "305172")) << "a staff number is an id";
    EXPECT_TRUE(taken("124578"));
}

TEST(SecretRules, NeverRepeatTheSecretInTheFault)
{
    for (const char* secret : { "12345", "n-arlen77", "zzzzzzzzz", "987654" }) {
        const auto sound = soundSecret(secret, base::OperatorId("n-arlen"), Role::Nurse);
        ASSERT_FALSE(sound);
        EXPECT_EQ(sound.error().text.find(secret), std::string::npos);
    }
}

} // namespace mk::registry
