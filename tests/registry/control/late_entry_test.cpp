// SPDX-License-Identifier: GPL-3.0-or-later
// Entries after the fact, free text, and who may sign a month; limits from handbook 7.2, 9 and 10.3.
#include "registry/acts/free_text.h"
#include "registry/control/late_entry.h"
#include "registry/month/signed_month.h"
#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::at;

TEST(MarkOf, IsLateBeyondTheMinutesAndOldBeyondTheHoursOfThePolicy)
{
    const Policy policy = defaultPolicy();
    const auto done = at("2026-05-03T07:00");
    EXPECT_FALSE(markOf(done, at("2026-05-03T07:15"), "N1", false, policy).late) << "fifteen minutes are in time";
    EXPECT_TRUE(markOf(done, at("2026-05-03T07:15:01"), "N1", false, policy).late);
    EXPECT_FALSE(markOf(done, at("2026-05-03T19:00"), "N1", false, policy).old);
    EXPECT_TRUE(markOf(done, at("2026-05-03T19:00:01"), "N1", false, policy).old);
    const EntryMark imported = markOf(done, at("2026-06-03T07:00"), "import", true, policy);
    EXPECT_FALSE(imported.late || imported.old) << "made in time where it comes from";
}

TEST(MarkOf, FollowsThePolicysOwnFigures)
{
    const auto policy = policyFrom(
        std::vector<std::pair<std::string, std::string>> { { "past_entry_hours", "2" }, { "late_entry_minutes", "60" } });
    ASSERT_TRUE(policy) << policy.error().text;
    const auto done = at("2026-05-03T07:00");
    EXPECT_FALSE(markOf(done, at("2026-05-03T07:59"), "N1", false, *policy).late);
    EXPECT_TRUE(markOf(done, at("2026-05-03T09:01"), "N1", false, *policy).old);
    EXPECT_FALSE(policyFrom(std::vector<std::pair<std::string, std::string>> { { "past_entry_hours", "soon" } }));
}

TEST(MayEnterLate, TakesThePapersNumberOrAReason)
{
    auto run = sample::aRun("set", "2026-05-03T07:00", Level::Low, "60");
    const auto now = at("2026-05-04T07:00");
    EXPECT_FALSE(mayEnterLate(run, now, defaultPolicy()));
    run.form = "DT-1";
    EXPECT_TRUE(mayEnterLate(run, now, defaultPolicy()));
    run.form.reset();
    run.lateReason = "forgotten";
    EXPECT_TRUE(mayEnterLate(run, now, defaultPolicy()));
    RunRecord record;
    record.run = run;
    EXPECT_FALSE(needsAcceptance(record)) << "nothing known of its entry";
    record.mark = markOf(run.at, now, "N1", false, defaultPolicy());
    EXPECT_TRUE(needsAcceptance(record));
    record.run.form = "DT-1";
    EXPECT_FALSE(needsAcceptance(record)) << "a paper stands behind it";
}

TEST(FreeText, FindsSixDigitsInARowInWordsAndLeavesNumbersOfPapersAlone)
{
    acts::NoteAdded note { at("2026-05-03T07:00"), base::OperatorId("N1"), base::MeterId("M1"), "" };
    for (const char* text : { "123456", "see 99481209.", "1234567890123" }) {
        note.text = text;
        EXPECT_FALSE(withoutPatientNumbers(note)) << text;
    }
    for (const char* text : { "12345", "2026-05-03 07:00", "12345 67890", "", "lot 41-8, 12.345,67" }) {
        note.text = text;
        EXPECT_TRUE(withoutPatientNumbers(note)) << text;
    }
    auto run = sample::aRun("20260503070000", "2026-05-03T07:00", Level::Low, "60");
    run.form = "20260001";
    EXPECT_TRUE(withoutPatientNumbers(run)) << "ids and paper forms are numbers by nature";
    run.lateReason = "patient 20260001";
    const auto refused = withoutPatientNumbers(run);
    ASSERT_FALSE(refused);
    EXPECT_NE(refused.error().text.find("late reason"), std::string::npos) << refused.error().text;
}

// Handbook 10.3.
TEST(LeapDay, AYearFromTheLeapDayEndsOnTheLastOfFebruary)
{
    const base::Date leap = base::parseDate("2028-02-29").value();
    EXPECT_EQ(base::toText(base::addMonths(leap, 12)), "2029-02-28");
    EXPECT_EQ(base::toText(base::addDays(leap, 365)), "2029-02-28");
    EXPECT_EQ(base::toText(base::addMonths(leap, 48)), "2032-02-29");
}

TEST(SignedMonth, ConcernsItsMonthAndWardOnly)
{
    acts::ReviewSigned review;
    review.month = "2026-05";
    const base::WardId ward("W1");
    EXPECT_TRUE(concerns(review, at("2026-05-01T00:00"), ward, sample::berlin()));
    EXPECT_TRUE(concerns(review, at("2026-05-31T23:59:59"), ward, sample::berlin()));
    EXPECT_FALSE(concerns(review, at("2026-06-01T00:00"), ward, sample::berlin()));
    EXPECT_FALSE(concerns(review, at("2026-04-30T23:59:59"), ward, sample::berlin()));
    review.ward = base::WardId("W2");
    EXPECT_FALSE(concerns(review, at("2026-05-15T00:00"), ward, sample::berlin()));
}

TEST(SignedMonth, IsForTheCoordinatorOnceTheMonthIsOver)
{
    acts::ReviewSigned review { at("2026-06-01T00:00"), base::OperatorId("C1"), "2026-05" };
    EXPECT_TRUE(maySign(review, Role::Coordinator, sample::berlin()));
    EXPECT_FALSE(maySign(review, Role::Nurse, sample::berlin()));
    EXPECT_FALSE(maySign(review, Role::Inspector, sample::berlin()));
    review.at = at("2026-05-31T23:59");
    EXPECT_FALSE(maySign(review, Role::Coordinator, sample::berlin()));
    review.month = "May";
    EXPECT_FALSE(maySign(review, Role::Coordinator, sample::berlin()));
}

} // namespace
} // namespace mk::registry
