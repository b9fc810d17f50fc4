// SPDX-License-Identifier: GPL-3.0-or-later
// Holds requirements.csv against the tests: every requirement of the handbook's table is there, and every test it names exists, ran and
// passed.
#include <QByteArray>
#include <QFile>
#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>
#include <QProcess>
#include <QProcessEnvironment>
#include <QTemporaryDir>

#include <gtest/gtest.h>

#include <map>
#include <set>
#include <string>
#include <vector>

namespace mk {

namespace {

struct Row {
    std::string id, shownBy, remark;
};

/// id,shown_by,remark; a cell holds no comma but the last, which may.
std::vector<Row> rows()
{
    std::vector<Row> rows;
    QFile file(QStringLiteral(MK_SOURCE_DIR "/tests/requirements/requirements.csv"));
    EXPECT_TRUE(file.open(QIODevice::ReadOnly));
    const auto lines = file.readAll().split('\n');
    for (qsizetype i = 1; i < lines.size(); ++i) {
        const QByteArray& line = lines[i];
        if (line.isEmpty())
            continue;
        const auto first = line.indexOf(',');
        const auto second = line.indexOf(',', first + 1);
        EXPECT_TRUE(first > 0 && second > first) << line.constData();
        rows.push_back(
            { line.left(first).toStdString(), line.mid(first + 1, second - first - 1).toStdString(), line.mid(second + 1).toStdString() });
    }
    return rows;
}

/// The groups of the handbook's table with how many requirements each has, and whether it may still be open.
struct Group {
    const char* name;
    int count;
    bool mayBeOpen;
};
constexpr Group kGroups[] = { { "MTR", 15, false }, { "CON", 18, false }, { "RUN", 18, false }, { "OPR", 2, false }, { "RUL", 15, false },
    { "CMP", 8, false }, { "EQA", 2, false }, { "NCR", 6, false }, { "AUD", 8, true }, { "INS", 6, true }, { "REC", 8, true },
    { "SEC", 4, true }, { "TIM", 5, true }, { "UNT", 4, true }, { "USE", 6, true } };

std::set<std::string> idsOf(const Group& group)
{
    std::set<std::string> ids;
    for (int i = 1; i <= group.count; ++i)
        ids.insert(std::string(group.name) + (i < 10 ? "-0" : "-") + std::to_string(i));
    return ids;
}

constexpr const char* kOpen = "open";

/// What became of a test, by its full name; a parameterised one also under its name without the parameter.
std::map<std::string, std::string> runTests(const std::string& program, const std::set<std::string>& names)
{
    QTemporaryDir folder;
    const QString report = folder.filePath(QStringLiteral("report.json"));
    std::string filter;
    for (const auto& name : names)
        filter += (filter.empty() ? "" : ":") + name + ":*/" + name + "/*";
    QProcess process;
    auto environment = QProcessEnvironment::systemEnvironment();
    environment.remove(QStringLiteral("MK_LONG_TESTS")); // the long ones run on their own
    process.setProcessEnvironment(environment);
    process.setProcessChannelMode(QProcess::MergedChannels);
    process.start(QStringLiteral(MK_TESTS_DIR "/") + QString::fromStdString(program) + QStringLiteral("_tests"),
        { QStringLiteral("--gtest_filter=") + QString::fromStdString(filter), QStringLiteral("--gtest_output=json:") + report });
    EXPECT_TRUE(process.waitForFinished(200'000)) << program;

    std::map<std::string, std::string> outcomes;
    QFile file(report);
    EXPECT_TRUE(file.open(QIODevice::ReadOnly)) << program << " wrote no report";
    const auto suites = QJsonDocument::fromJson(file.readAll()).object().value(QStringLiteral("testsuites")).toArray();
    for (const auto& suite : suites) {
        const QString suiteName = suite.toObject().value(QStringLiteral("name")).toString();
        for (const auto& test : suite.toObject().value(QStringLiteral("testsuite")).toArray()) {
            const QJsonObject one = test.toObject();
            const QString result = one.value(QStringLiteral("result")).toString();
            const bool failed = one.contains(QStringLiteral("failures"));
            const std::string outcome = failed          ? "failed"
                : result == QStringLiteral("COMPLETED") ? "passed"
                                                        : result.toLower().toStdString();
            const QString name = one.value(QStringLiteral("name")).toString();
            // Instance/Suite.Name/parameter
            const std::string plain = (suiteName.section(QLatin1Char('/'), -1) + QLatin1Char('.') + name.section(QLatin1Char('/'), 0, 0))
                                          .toStdString();
            auto& known = outcomes[plain];
            if (known.empty() || known == "passed")
                known = outcome;
        }
    }
    return outcomes;
}

} // namespace

TEST(Requirements, EachOfTheTableIsShownOrSaidToBeOpen)
{
    std::set<std::string> told;
    std::set<std::string> openOnes;
    for (const auto& row : rows()) {
        told.insert(row.id);
        if (row.shownBy == kOpen) {
            openOnes.insert(row.id);
            EXPECT_FALSE(row.remark.empty()) << row.id << " is open: say what is missing";
        }
    }
    std::set<std::string> known;
    for (const auto& group : kGroups) {
        for (const auto& id : idsOf(group)) {
            known.insert(id);
            EXPECT_TRUE(told.contains(id)) << id << " is not in requirements.csv";
            EXPECT_TRUE(group.mayBeOpen || !openOnes.contains(id)) << id << " must be shown by a test";
        }
    }
    for (const auto& id : told)
        EXPECT_TRUE(known.contains(id)) << id << " is no requirement of the table";
}

TEST(Requirements, EveryTestThatIsNamedExistsRanAndPassed)
{
    std::map<std::string, std::set<std::string>> byProgram;
    for (const auto& row : rows()) {
        if (row.shownBy == kOpen)
            continue;
        const auto slash = row.shownBy.find('/');
        ASSERT_NE(slash, std::string::npos) << row.id << ": write folder/Suite.Test, not '" << row.shownBy << "'";
        byProgram[row.shownBy.substr(0, slash)].insert(row.shownBy.substr(slash + 1));
    }
    for (const auto& [program, names] : byProgram) {
        const auto outcomes = runTests(program, names);
        for (const auto& name : names) {
            const auto found = outcomes.find(name);
            EXPECT_TRUE(found != outcomes.end()) << program << "/" << name << " does not exist";
            if (found != outcomes.end()) {
                EXPECT_EQ(found->second, "passed") << program << "/" << name;
            }
        }
    }
}

TEST(Requirements, EveryStoryIsTold)
{
    std::set<std::string> told;
    for (const char* program : { "journeys", "desktop", "faults" }) {
        QProcess process;
        process.start(
            QStringLiteral(MK_TESTS_DIR "/") + QLatin1String(program) + QStringLiteral("_tests"), { QStringLiteral("--gtest_list_tests") });
        ASSERT_TRUE(process.waitForFinished(60'000)) << program;
        bool stories = false;
        for (const auto& line : process.readAllStandardOutput().split('\n')) {
            if (!line.startsWith(' '))
                stories = line == "Story.";
            else if (stories)
                told.insert(line.trimmed().left(3).toStdString());
        }
    }
    for (int i = 1; i <= 52; ++i) {
        const std::string story = (i < 10 ? "S0" : "S") + std::to_string(i);
        EXPECT_TRUE(told.contains(story)) << story << " has no test";
    }
}

} // namespace mk
