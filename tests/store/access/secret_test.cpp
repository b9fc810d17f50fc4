// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/access/secret.h"
#include "store/access/credentials.h"

#include <gtest/gtest.h>

#include <QByteArray>

#include <sodium.h>

#include <array>
#include <new>

namespace mk::store {
namespace {

Secret secretOf(std::string text)
{
    return Secret::taken(text);
}

} // namespace

TEST(Secrets, AreWipedWhenTheyGoAndWhereTheyCameFrom)
{
    std::string given = "kettle on the sill, and a long one";
    const std::string copy = given;
    alignas(Secret) std::array<unsigned char, sizeof(Secret)> place {};
    auto* kept = new (place.data()) Secret(Secret::taken(given));
    EXPECT_TRUE(given.empty());
    EXPECT_EQ(std::string_view(given.data(), 7), std::string_view("\0\0\0\0\0\0\0", 7)) << "the bytes behind an emptied text";
    EXPECT_EQ(kept->text(), copy);
    const auto holds = [&] {
        return std::string_view(reinterpret_cast<const char*>(place.data()), place.size()).find("kettle") != std::string_view::npos;
    }; // NOLINT
    EXPECT_TRUE(holds());
    const Secret moved(std::move(*kept));
    EXPECT_FALSE(holds()) << "moving on leaves nothing behind";
    *kept = moved.copy();
    EXPECT_TRUE(holds());
    kept->~Secret();
    EXPECT_FALSE(holds());
}

TEST(Stretching, IsArgon2idAsPublished)
{
    // The library does what the reference program's own test expects (phc-winner-argon2, test.c: version 13, t = 2, 64 MiB, p = 1) …
    EXPECT_EQ(
        crypto_pwhash_str_verify("$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc", "password", 8),
        0);
    // … and what we ask of it is what its figures say, written the published way.
    const StretchRule rule { 2, std::size_t { 1 } << 20U, "736f6d6573616c743030303030303030" };
    const auto once = argon2id(secretOf("password"), rule);
    ASSERT_TRUE(once) << once.error().text;
    const auto base64 = [](std::string_view hex) {
        return QByteArray::fromHex(QByteArray(hex.data(), static_cast<qsizetype>(hex.size())))
            .toBase64(QByteArray::OmitTrailingEquals)
            .toStdString();
    };
    const std::string published = "$argon2id$v=19$m=1024,t=2,p=1$" + base64(rule.salt) + "$" + base64(once->text());
    EXPECT_EQ(crypto_pwhash_str_verify(published.c_str(), "password", 8), 0) << published;
    EXPECT_NE(crypto_pwhash_str_verify(published.c_str(), "passwore", 8), 0);
    EXPECT_NE(argon2id(secretOf("passwore"), rule)->text(), once->text());
    EXPECT_EQ(StretchRule::read(rule.text())->text(), rule.text());
    EXPECT_FALSE(argon2id(secretOf("password"), { 2, std::size_t { 1 } << 20U, "73" }));
    for (const char* strange : { "", "argon2id:19:3:67108864", "argon2id:19:0:67108864:736f6d6573616c743030303030303030",
             "argon2id:19:3:99999999999:736f6d6573616c743030303030303030", "argon2id:19:3:67108864:736f6d6573616c74303030303030303g",
             "argon2i:19:3:67108864:736f6d6573616c743030303030303030" })
        EXPECT_FALSE(StretchRule::read(strange)) << strange;
    EXPECT_GE(newRule().memory, std::size_t { 64 } << 20U);
    EXPECT_GE(newRule().operations, 3u);
    EXPECT_NE(newRule().salt, newRule().salt);
}

} // namespace mk::store
