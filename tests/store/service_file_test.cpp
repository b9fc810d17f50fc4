// SPDX-License-Identifier: GPL-3.0-or-later
// A service file may say where the server is, never its password.
#include "store/db/session.h"

#include <QFile>
#include <QTemporaryDir>

#include <gtest/gtest.h>

namespace mk::store {
namespace {

base::Fault openedWith(const char* serviceFile)
{
    QTemporaryDir folder;
    const QString path = folder.filePath(QStringLiteral("services"));
    QFile file(path);
    EXPECT_TRUE(file.open(QIODevice::WriteOnly));
    file.write(serviceFile);
    file.close();
    qputenv("PGSERVICEFILE", path.toLocal8Bit());
    const auto opened = Session::open("postgresql:///?service=ward&connect_timeout=2", Session::Access::ReadOnly);
    qunsetenv("PGSERVICEFILE");
    EXPECT_FALSE(opened);
    return opened ? base::Fault {} : opened.error();
}

TEST(ServiceFile, WithAPasswordIsRefusedBeforeAnythingIsSent)
{
    for (const char* text : { "[ward]\nhost=127.0.0.1\nport=1\npassword=secret\n", "[ward]\n  password = secret\n",
             "[other]\nhost=x\n[ward]\npassfile=/tmp/x\n" }) {
        const base::Fault fault = openedWith(text);
        EXPECT_EQ(fault.kind, base::FaultKind::Denied) << text;
        EXPECT_NE(fault.text.find("names a password"), std::string::npos) << fault.text;
        EXPECT_EQ(fault.text.find("secret"), std::string::npos) << fault.text;
    }
}

TEST(ServiceFile, OfAnotherServiceIsNotOurs)
{
    const base::Fault fault = openedWith("[other]\npassword=secret\n[ward]\nhost=127.0.0.1\nport=1\n");
    EXPECT_EQ(fault.kind, base::FaultKind::Unreachable) << fault.text;
}

} // namespace
} // namespace mk::store
