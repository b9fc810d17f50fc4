// SPDX-License-Identifier: GPL-3.0-or-later
// An address out of a script, an e-mail or a link: no part of it may become another connection than it says.
#include "store/db/address.h"

#include <gtest/gtest.h>

namespace mk::store {

TEST(HostileAddress, NamesNoSecondMachineBehindASocketsFolder)
{
    // libpq takes a list of hosts; the second would be reached in the clear, because the first is on this machine.
    EXPECT_FALSE(Address::parse("postgresql:///ward?host=/run/postgresql,db.example"));
    EXPECT_FALSE(Address::parse("postgresql:///ward?host=/run/postgresql%2cdb.example"));
    EXPECT_FALSE(Address::parse("postgresql:///ward?host=db.example"));
    EXPECT_FALSE(Address::parse("postgresql:///ward?host="));
    EXPECT_FALSE(Address::parse("postgresql://localhost%2cdb.example/ward"));
    const auto socket = Address::parse("postgresql:///ward?host=/run/postgresql");
    ASSERT_TRUE(socket) << socket.error().text;
    EXPECT_EQ(socket->host, "/run/postgresql");
}

TEST(HostileAddress, CarriesNothingThatEndsAValueOfLibpqs)
{
    for (const char* text : { "postgresql://db/wa%27rd", "postgresql://db/wa%22rd", "postgresql://db/wa%5crd", "postgresql://db/wa%0ard",
             "postgresql://db/wa%00rd", "postgresql://u%27x@db/w", "postgresql://db%3bhost=x/w",
             "postgresql://db/w?sslrootcert=a%27%20host=x", "postgresql://db/w?service=a;b" })
        EXPECT_FALSE(Address::parse(text)) << text;
}

} // namespace mk::store
