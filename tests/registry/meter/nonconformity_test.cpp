// SPDX-License-Identifier: GPL-3.0-or-later
// Handbook 7.1: states of a nonconformity, their order, and who takes them.
#include "registry/meter/nonconformity.h"
#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

class Case {
public:
    Case()
    {
        m_opened.seq = { 40 };
        m_opened.act.type = "ladder-exhausted";
        m_opened.act.subject = "M1";
        m_opened.act.description = "d";
    }
    acts::NcStep step(NcState to, const std::string& text = "t") const
    {
        acts::NcStep made;
        made.at = sample::at("2026-05-06T10:00");
        made.by = base::OperatorId("C1");
        made.entry = m_opened.seq;
        made.to = to;
        made.text = text;
        if (to == NcState::CauseFound)
            made.cause = CauseClass::Meter;
        if (to == NcState::ActionDone)
            made.owner = "C1", made.due = base::parseDate("2026-06-01").value();
        return made;
    }
    Case& take(const acts::NcStep& made)
    {
        m_steps.push_back({ { 41 + static_cast<std::int64_t>(m_steps.size()) }, made });
        return *this;
    }
    Nonconformity now() const { return foldNonconformity(m_opened, m_steps); }
    base::Done may(const acts::NcStep& made, Role role = Role::Coordinator, std::optional<base::Seq> lookback = {}) const
    {
        return mayTakeNcStep(now(), made, role, lookback);
    }

private:
    Record<acts::NcOpened> m_opened;
    std::vector<Record<acts::NcStep>> m_steps;
};

constexpr NcState kOrder[] = { NcState::Open, NcState::Contained, NcState::CauseFound, NcState::ActionDone, NcState::EffectivenessChecked,
    NcState::Closed };

} // namespace

TEST(Nonconformity, EveryPairOfStatesIsAllowedOnlyInItsOrder)
{
    Case c;
    for (std::size_t i = 0; i < std::size(kOrder); ++i) {
        if (i > 0) {
            ASSERT_TRUE(c.may(c.step(kOrder[i]))) << i;
            c.take(c.step(kOrder[i]));
        }
        EXPECT_EQ(c.now().state, kOrder[i]);
        for (std::size_t j = 0; j < std::size(kOrder); ++j) {
            auto made = c.step(kOrder[j]);
            if (i == j)
                made.cause.reset(), made.owner.reset(), made.due.reset();
            const bool legal = j == i + 1 || (j == 0 && i > 0);
            EXPECT_EQ(static_cast<bool>(c.may(made)), legal) << word(kOrder[i]) << " to " << word(kOrder[j]);
        }
    }
}

TEST(Nonconformity, OnlyTheCoordinatorClosesAndReopens)
{
    Case c;
    for (std::size_t i = 1; i + 1 < std::size(kOrder); ++i) {
        EXPECT_TRUE(c.may(c.step(kOrder[i]), Role::Nurse));
        EXPECT_FALSE(c.may(c.step(kOrder[i]), Role::Inspector));
        c.take(c.step(kOrder[i]));
    }
    EXPECT_FALSE(c.may(c.step(NcState::Closed), Role::Nurse));
    EXPECT_FALSE(c.may(c.step(NcState::Open), Role::Nurse));
    EXPECT_TRUE(c.may(c.step(NcState::Closed)));
}

TEST(Nonconformity, AnUndecidedLookbackKeepsItOpen)
{
    Case c;
    for (std::size_t i = 1; i + 1 < std::size(kOrder); ++i)
        c.take(c.step(kOrder[i]));
    const base::Done refused = c.may(c.step(NcState::Closed), Role::Coordinator, base::Seq { 39 });
    ASSERT_FALSE(refused);
    EXPECT_NE(refused.error().text.find("entry 39"), std::string::npos);
    EXPECT_FALSE(c.may(c.step(NcState::Closed, "no nonconformity: typed wrong"), Role::Coordinator, base::Seq { 39 }));
}

TEST(Nonconformity, AMistakenOneIsClosedFromAnyStateWithThoseWords)
{
    Case c;
    EXPECT_FALSE(c.may(c.step(NcState::Closed, "typed wrong")));
    EXPECT_TRUE(c.may(c.step(NcState::Closed, "no nonconformity: typed wrong")));
    c.take(c.step(NcState::Closed, "no nonconformity: typed wrong"));
    EXPECT_TRUE(c.now().mistaken);
    EXPECT_EQ(c.now().closedBy, base::OperatorId("C1"));
    c.take(c.step(NcState::Open, "it was one"));
    EXPECT_EQ(c.now().state, NcState::Open);
    EXPECT_EQ(c.now().reopened, 1);
    EXPECT_FALSE(c.now().mistaken);
    EXPECT_FALSE(c.now().closedAt);
}

TEST(Nonconformity, OwnerDueDateAndReportsAreKeptAndMayChangeWithinAState)
{
    Case c;
    auto assign = c.step(NcState::Open, "assigned");
    EXPECT_FALSE(c.may(assign)) << "nothing changes";
    assign.owner = "N2", assign.due = base::parseDate("2026-05-20").value(), assign.report = "maker 7/26";
    ASSERT_TRUE(c.may(assign));
    c.take(assign);
    EXPECT_EQ(c.now().state, NcState::Open);
    EXPECT_EQ(c.now().owner, "N2");
    EXPECT_EQ(c.now().due, base::parseDate("2026-05-20").value());
    EXPECT_EQ(c.now().reports, std::vector<std::string> { "maker 7/26" });
    c.take(c.step(NcState::Contained)).take(c.step(NcState::CauseFound));
    auto done = c.step(NcState::ActionDone);
    done.owner.reset(), done.due.reset();
    EXPECT_TRUE(c.may(done)) << "both are on record";
}

TEST(Nonconformity, TheActionNeedsAnOwnerAndADueDate)
{
    Case c;
    c.take(c.step(NcState::Contained)).take(c.step(NcState::CauseFound));
    auto done = c.step(NcState::ActionDone);
    done.due.reset();
    EXPECT_FALSE(c.may(done));
    EXPECT_FALSE(c.may(c.step(NcState::ActionDone, " "))) << "an empty text says nothing";
    EXPECT_TRUE(c.may(c.step(NcState::ActionDone)));
}

TEST(Nonconformity, OnlyKnownCausesOpenOneByThemselves)
{
    for (const char* cause : { "ladder-exhausted", "comparison-failed", "field-notice", "wrong-unit" })
        EXPECT_NE(nonconformityText(cause, "M1").find("M1"), std::string::npos) << cause;
    for (const char* cause : { "dropped", "control-rejected", "movement" })
        EXPECT_EQ(nonconformityText(cause, "M1"), "") << cause;
}

} // namespace mk::registry
