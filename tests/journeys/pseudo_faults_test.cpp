// SPDX-License-Identifier: GPL-3.0-or-later
// What each floor cannot do, said in the language that nobody speaks: what is not marked escaped translation.
#include "base/decimal.h"
#include "base/moment.h"
#include "exchange/csv.h"
#include "exchange/gs1.h"
#include "exchange/policy_file.h"
#include "exchange/registry_csv.h"
#include "exchange/whole_file.h"
#include "registry/acts/text_bounds.h"
#include "registry/meter/meter_life.h"
#include "registry/month/signed_month.h"
#include "registry/people/competency.h"
#include "registry/policy/policy.h"
#include "registry/terms/text_form.h"
#include "registry/terms/values.h"
#include "stats/basics/input_checks.h"
#include "stats/compare/error_grid.h"
#include "stats/rules/control_limits.h"
#include "store/db/address.h"
#include "store/db/session.h"
#include "store/journal/canonical_json.h"
#include "words/faults.h"
#include "words/pseudo_language.h"

#include <QCoreApplication>
#include <QTemporaryDir>

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::journeys {
namespace {

using base::Fault;

/// While it lives every translated text wears brackets.
class PseudoFaults : public ::testing::Test {
protected:
    PseudoFaults() { QCoreApplication::installTranslator(&m_language); }
    ~PseudoFaults() override { QCoreApplication::removeTranslator(&m_language); }

    /// A whole sentence with all its places filled, and the faults in them as well.
    static void expectMarked(const Fault& fault)
    {
        const QString said = words::said(fault);
        EXPECT_FALSE(said.isEmpty());
        EXPECT_EQ(words::untranslated(said), QString()) << said.toStdString();
        for (std::size_t place = 1; place <= fault.args.size(); ++place)
            EXPECT_NE(fault.code.find("%" + std::to_string(place)), std::string_view::npos) << fault.code;
        for (const auto& arg : fault.args)
            expectNounMarked(arg);
    }
    /// What stands in a place and is ours: a fault, or a noun.
    static void expectNounMarked(const base::Arg& arg)
    {
        if (arg.cause)
            expectMarked(*arg.cause);
        if (arg.kind != base::Arg::Kind::Term)
            return;
        EXPECT_EQ(words::untranslated(words::said(arg)), QString()) << arg.text;
    }
    static bool hasNoun(const Fault& fault)
    {
        return std::ranges::any_of(fault.args, [](const base::Arg& arg) { return arg.kind == base::Arg::Kind::Term; });
    }
    template <typename Result>
    static void expectMarked(const Result& result, base::FaultKind kind)
    {
        ASSERT_FALSE(result);
        EXPECT_EQ(result.error().kind, kind) << result.error().text;
        EXPECT_FALSE(result.error().text.empty()) << "logs have English";
        expectMarked(result.error());
    }

    words::PseudoLanguage m_language;
};

constexpr auto kBad = base::FaultKind::BadInput;
constexpr auto kRefused = base::FaultKind::Refused;

base::Date someDay()
{
    return base::parseDate("2026-05-04").value();
}

} // namespace

TEST_F(PseudoFaults, OfNumbersAndTimes)
{
    expectMarked(base::Decimal::parse("5,6"), kBad);
    expectMarked(base::parseDate("4.5.2026"), kBad);
    expectMarked(base::parsePeriod("soon"), kBad);
    expectMarked(base::parseTimeText("noon"), kBad);
}

TEST_F(PseudoFaults, OfStatistics)
{
    using namespace stats;
    const std::vector<double> one { 5 }, negative { -1 };
    expectMarked(checkConfidence(2), kBad);
    for (const auto what : { Numbers::Values, Numbers::AssignedValues, Numbers::Times, Numbers::OfCurrentLot, Numbers::OfCandidateLot }) {
        expectMarked(checkNumbers({}, what), kBad);
        expectMarked(checkNumbers(std::vector<double> { 1, std::nan("") }, what), kBad);
    }
    expectMarked(establishedLimits(moments(one), 1, 0.95), kRefused);
    expectMarked(gridZones(ErrorGrid::ConsensusType1, negative, one, base::GlucoseUnit::MgPerDl), kBad);
}

TEST_F(PseudoFaults, OfTheWard)
{
    using namespace registry;
    using S = MeterState;
    expectMarked(mayMove(S::InService, S::InService, Role::Nurse), kRefused);
    expectMarked(mayMove(S::Received, S::InService, Role::Coordinator), kRefused);
    expectMarked(mayMove(S::InService, S::Retired, Role::Nurse), kRefused);
    expectMarked(sensibleText(TextKind::Line, "one\ntwo", "strip_vial"), kBad);
    expectMarked(readElements("guessing"), kBad);
    acts::ReviewSigned review;
    review.month = "2026-05";
    review.at = base::momentOf({ someDay(), 0 }, 0);
    expectMarked(maySign(review, Role::Coordinator, Zone::named("Europe/Berlin").value()), kRefused);
}

TEST_F(PseudoFaults, OfPolicies)
{
    using namespace registry;
    const PolicyPairs faulty { { "grace_minute", "10" }, { "grace_minutes", "soon" }, { "grace_minutes", "10" } };
    const auto faults = policyFaults(faulty);
    ASSERT_EQ(faults.size(), faulty.size());
    for (const auto& fault : faults)
        expectMarked(fault);
    expectMarked(policyFrom(faulty), kBad);
    expectMarked(exchange::readPolicyDocument("clearance_hours 24", "ward.policy"), kBad);
    expectMarked(exchange::readPolicyDocument("clearance_hours = 2\x01", "ward.policy"), kBad);
    expectMarked(exchange::readPolicyDocument("{\"clearance_hours\":", "ward.policy"), kBad);
}

TEST_F(PseudoFaults, OfTables)
{
    expectMarked(exchange::parseCsv("", "wards.csv"), kBad);
    expectMarked(exchange::parseCsv("a,b\n1\n", "wards.csv"), kBad);
    expectMarked(exchange::parseCsv("a,a\n1,2\n", "wards.csv"), kBad);
    const auto zone = registry::Zone::named("Europe/Berlin").value();
    for (const char* bytes : { "at\n", "at,meter\nyesterday,M-07\n", "a,\"b\n" }) {
        const auto read = exchange::readRegistryFile("control_runs.csv", bytes, zone);
        ASSERT_FALSE(read.rejected.empty()) << bytes;
        for (const auto& row : read.rejected)
            expectMarked(row.fault);
    }
}

TEST_F(PseudoFaults, OfCodes)
{
    for (const char* scanned : { "", "]E0123", "99", "(17)261301", "(01)04012345678902", "(10)", "(10)A(10)B", "01\x01" })
        expectMarked(exchange::parseGs1(scanned, someDay()), kBad);
}

/// A noun that varies is translated where it stands.
TEST_F(PseudoFaults, OfNouns)
{
    const auto level = registry::TextForm<registry::Level>::read("huge", {});
    ASSERT_FALSE(level);
    EXPECT_TRUE(hasNoun(level.error()));
    expectMarked(level.error());
    const auto field = registry::sensibleText(registry::TextKind::Line, "one\ntwo", "strip_vial");
    ASSERT_FALSE(field);
    EXPECT_TRUE(hasNoun(field.error()));
    EXPECT_EQ(words::said(base::Arg("strip vial")), QStringLiteral("strip vial")) << "what was typed stays";
    for (const char* address : { "postgresql://db.example.org/ward", "postgresql://db.example.org", "postgresql:///ward", "postgresql://",
             "postgresql://?service=ward" }) {
        const auto server = store::Address::parse(address);
        ASSERT_TRUE(server) << address;
        ASSERT_TRUE(server->said().cause) << address;
        expectNounMarked(server->said());
    }
    EXPECT_FALSE(store::Address::parse("/ward.mkr").value().said().cause) << "a path is data";
}

TEST_F(PseudoFaults, OfPlacesAndFiles)
{
    using store::Session;
    const QTemporaryDir folder;
    const std::string path = folder.filePath(QStringLiteral("ward.mkr")).toStdString();
    const auto read = Session::Access::ReadOnly;
    expectMarked(Session::open(path, read), base::FaultKind::NotFound);
    expectMarked(Session::open(folder.path().toStdString(), read), kBad);
    expectMarked(Session::open(MK_SOURCE_DIR "/LICENSE", read), base::FaultKind::Damaged);
    ASSERT_TRUE(Session::create(path));
    expectMarked(Session::create(path), base::FaultKind::Conflict);
    expectMarked(exchange::readWholeFile(folder.path().toStdString(), 10), kBad);
    expectMarked(exchange::readWholeFile(MK_SOURCE_DIR "/LICENSE", 1024), kBad);
    for (const char* address : { "", "postgresql://a#b", "postgresql://a:b@c/d", "postgresql://c:99999999/d", "postgresql://c/d?x=1" })
        expectMarked(store::Address::parse(address), kBad);
    for (const char* document : { "{", "[1.5]", "{\"a\":1,\"a\":2}", "\"\n\"" })
        expectMarked(store::Json::parse(document), kBad);
}

} // namespace mk::journeys
