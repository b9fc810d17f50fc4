// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/globals.h"

#include "cli/password.h"
#include "cli/signed_author.h"
#include "store/journal/journal.h"

#include <QDir>
#include <QStandardPaths>
#include <QSysInfo>

namespace mk::cli {

namespace {

base::Result<OpenRegistry> openRegistry(const Globals& globals, store::Session::Access access)
{
    auto session = store::Session::open(globals.registry, access, passwordSource());
    if (!session)
        return session.error();
    OpenRegistry open { std::move(session).value(), std::nullopt, {}, {} };
    if (globals.asOf) {
        const auto head = store::headOf(*open.session);
        if (!head)
            return head.error();
        if (*globals.asOf < 1 || *globals.asOf > head->seq.value)
            return base::badInput("--as-of takes an entry number from 1 to %1, not %2", head->seq.value, *globals.asOf);
    }
    auto reader = store::Reader::open(*open.session, globals.asOf ? base::Seq { *globals.asOf } : store::Reader::kNewest);
    if (!reader)
        return reader.error();
    open.reader.emplace(std::move(reader).value());
    const auto at = momentOf(globals, open.reader->zone());
    if (!at)
        return at.error();
    open.at = *at;
    return open;
}

} // namespace

std::string defaultRegistryPath()
{
    return (QStandardPaths::writableLocation(QStandardPaths::GenericDataLocation) + QStringLiteral("/meterkeep/registry.mkr"))
        .toStdString();
}

std::string stationName()
{
    return QSysInfo::machineHostName().toStdString();
}

base::Done noteReading(const Globals& globals)
{
    if (globals.person.empty())
        return {};
    bool signsIn = false;
    {
        auto open = openRegistry(globals, store::Session::Access::ReadOnly);
        if (!open)
            return open.error();
        const auto inspector = isInspector(*open->reader, globals);
        if (!inspector || !*inspector)
            return inspector ? base::Done() : base::Done(inspector.error());
        const auto setUp = store::isSignInSetUp(*open->session);
        if (!setUp)
            return setUp.error();
        signsIn = *setUp;
    }
    auto open = openRegistry(globals, store::Session::Access::ReadWrite);
    if (!open && !signsIn) // a copy that cannot be written is looked at without a trace
        return {};
    return open ? noteInspector(*open->session, globals) : base::Done(open.error());
}

base::Result<OpenRegistry> openForReading(const Globals& globals)
{
    if (const base::Done noted = noteReading(globals); !noted)
        return noted.error();
    return openRegistry(globals, store::Session::Access::ReadOnly);
}

base::Result<OpenRegistry> openUnsigned(const Globals& globals)
{
    if (globals.asOf)
        return base::fault(base::FaultKind::BadInput, "--as-of looks back and records nothing; leave it out here");
    return openRegistry(globals, store::Session::Access::ReadWrite);
}

base::Result<OpenRegistry> openForWriting(const Globals& globals)
{
    auto open = openUnsigned(globals);
    if (!open)
        return open;
    auto author = signedAuthor(*open->session, globals, Asked::ToRecord);
    if (!author)
        return author.error();
    open->author = std::move(author).value();
    return open;
}

base::Result<OpenRegistry> openForSigning(const Globals& globals)
{
    auto open = openUnsigned(globals);
    if (!open)
        return open;
    auto author = signedAuthor(*open->session, globals, Asked::ToSign);
    if (!author)
        return author.error();
    open->author = std::move(author).value();
    return open;
}

base::Result<base::Moment> momentOf(const Globals& globals, const registry::Zone& zone)
{
    if (!globals.at)
        return zone.at(store::machineClock());
    const auto moment = registry::TextForm<base::Moment>::read(*globals.at, { &zone, nullptr });
    if (!moment)
        return base::fault(moment.error().kind, "--at: %1", moment.error());
    return zone.at(moment->utcMs);
}

} // namespace mk::cli
