// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "registry/terms/zone.h"

#include <cstdint>
#include <limits>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

/// A tiny second reading of the handbook: it keeps accepted acts as plain records and says of a meter, at any moment and as known
/// at any entry, its state and what keeps it from use. Written from the pages alone; it shares no judging code with the program.
namespace mk::model {

inline constexpr std::int64_t kNever = std::numeric_limits<std::int64_t>::max();
inline constexpr std::int64_t kMinute = 60'000, kHour = 60 * kMinute, kDay = 24 * kHour;

/// An accepted act, when it was told, and what became of it.
struct Fact {
    std::int64_t seq = 0, told = 0;
    registry::Act act;
    std::string person {};                                                        ///< who entered it
    bool takenOver = false;                                                       ///< from a file
    std::int64_t annulled = kNever;                                               ///< the entry that annulled it
    std::vector<std::pair<std::int64_t, registry::acts::ControlRun>> versions {}; ///< of a run: corrected by that entry
    std::int64_t target = 0;                                                      ///< of a correction or annulment: what it speaks of
    bool waits = false;                                                           ///< nothing follows until a second person says so
    std::int64_t confirmed = kNever, confirmedAt = kNever;                        ///< the entry of that word, and when it was told
};

/// Does something wait for a second person (handbook 17.12)? Where the pages leave it open the registry may say.
enum class Second { Needed, NotNeeded, Open };

/// What the pages say of one meter at one moment. Codes in `may` may block or not: the pages leave room.
struct Expected {
    registry::MeterState state = registry::MeterState::Received;
    std::set<std::string> must;               ///< each blocks
    std::vector<std::set<std::string>> oneOf; ///< of each group one at least blocks
    std::set<std::string> listed;             ///< stands, blocking or not
    std::set<std::string> may;

    bool blocked() const { return !must.empty() || !oneOf.empty(); }
};

class Reference {
public:
    explicit Reference(registry::Zone zone) : m_zone(std::move(zone)) { }

    /// What the registry did by itself in the same transaction and the pages leave to it: whose vials, lots and meters it stopped.
    struct Followed {
        std::vector<std::pair<std::int64_t, registry::Act>> acts; ///< ends of vials, events of lots
        struct Stopped {
            std::string meter, cause;
            bool withdrawn;
        };
        std::vector<Stopped> stops; ///< for exhausted ladders, makers' notices and failed proficiency samples
    };

    /// How a transaction came in. head: its last entry, consequences included; person: who entered it, empty: nobody is named.
    struct Delivery {
        std::int64_t told = 0, head = 0;
        std::string person {};
        bool takenOver = false;
    };

    /// Takes over what the registry has accepted in one transaction, as it stored it.
    /// returns  what must never have been accepted, or never have followed, in words; empty where all is well
    std::string accept(const std::vector<std::pair<std::int64_t, registry::Act>>& acts, const Delivery& how, const Followed& followed = {});

    /// May that person be the second one (17.12)? parts: who has a part in it.
    bool maySecond(const std::string& person, const std::set<std::string>& parts, std::int64_t at) const;
    /// Who has a part in a correction or an annulment: who wrote what it speaks of, who writes it, and whom they name.
    std::set<std::string> partsIn(const Fact& mending) const;
    /// Is what it speaks of still there, as it was when it was written?
    bool stands(const Fact& mending) const;
    const Fact* entry(std::int64_t seq) const;
    /// The newest range of those lots and that level that waits to be typed again; null where none does.
    const Fact* waitingRange(const base::StripLotId& strip, const base::ControlLotId& control, registry::Level level) const;
    /// Is this word one that must be taken: something waits for it, and whoever says it may?
    bool isOwed(const registry::acts::CorrectionConfirmed& word, std::int64_t at) const;
    bool isOwed(const registry::acts::RangeConfirmed& again, std::int64_t at) const;

    /// May this run be refused as one attempt too many on the same vials (handbook 4.6)?
    bool tooManyAttempts(const registry::acts::ControlRun& run) const;

    /// Where the pages leave room for another state after the last acts, the registry's choice is taken over.
    void settle(const std::string& meter, registry::MeterState observed);
    bool leavesRoom(const std::string& meter) const { return m_room.contains(meter); }

    Expected expect(const std::string& meter, std::int64_t at, std::int64_t known = kNever) const;
    registry::MeterState stateAt(const std::string& meter, std::int64_t at, std::int64_t known = kNever) const;

    struct Judged {
        std::string set;
        registry::Verdict verdict = registry::Verdict::Partial;
        std::int64_t first = 0, last = 0, newestSeq = 0;
        std::int64_t clears = 0; ///< what happened before the newest run of each level is behind it; a later event is not
        std::set<std::string> causes;
        std::string stripVial;
        std::set<std::string> stripLots, controlLots, vials;
        bool good() const { return verdict == registry::Verdict::Accepted || verdict == registry::Verdict::Warned; }
    };
    /// Was a set under way then that went on after others had been run? Which set is the newest at that moment, the pages leave open.
    bool overlaps(const std::string& meter, std::int64_t at, std::int64_t known = kNever) const;
    /// The meter's sets begun by then, oldest first.
    std::vector<Judged> sets(const std::string& meter, std::int64_t at, std::int64_t known = kNever) const;

    const std::vector<Fact>& facts() const { return m_facts; }
    const registry::Zone& zone() const { return m_zone; }
    template <typename A>
    std::vector<const Fact*> all(std::int64_t known = kNever) const
    {
        std::vector<const Fact*> found;
        for (const auto& fact : m_facts)
            if (fact.seq <= known && (known < fact.annulled || fact.annulled == kNever) && std::holds_alternative<A>(fact.act))
                found.push_back(&fact);
        return found;
    }
    template <typename A>
    static const A& as(const Fact& fact)
    {
        return std::get<A>(fact.act);
    }
    /// A run as it was known then.
    static const registry::acts::ControlRun& runAt(const Fact& fact, std::int64_t known);
    std::vector<std::string> meters() const;
    std::string wardOf(const std::string& meter) const;
    bool vialUsable(const std::string& vial, std::int64_t at, std::int64_t known = kNever) const;
    /// Are the strips made for the meter's model?
    bool suits(const std::string& stripVial, const std::string& meter) const;
    std::optional<registry::Role> roleOf(const std::string& person) const;

private:
    struct Spell {
        registry::MeterState state;
        std::int64_t since, seq;
    };
    struct Stop {
        std::string code; ///< empty: somebody's own decision
        std::string set;  ///< for a failed control
        std::int64_t since, seq;
        bool soft = false;        ///< told while the meter was in no state that can be stopped
        std::int64_t because = 0; ///< the entry of the event
        std::int64_t ended = kNever, endedSeq = kNever;
    };

    std::string take(const Fact& fact, std::int64_t head);
    std::string takeMending(Fact& mending);
    std::string takeWord(const Fact& word);
    std::string takeRange(Fact& range);
    std::string takeAgain(const Fact& again);
    Fact* noted(std::int64_t seq);
    std::int64_t targetOf(const registry::Act& mending) const;
    void mend(const Fact& mending, std::int64_t by);
    Second secondFor(const Fact& mending) const;
    Second secondForOther(const Fact& mending, const Reference& mended) const;
    bool mayAnnul(const Fact& annulment) const;
    const registry::Act* effectOf(const Fact& newest) const;
    std::string takeMovement(const Fact& fact, std::int64_t head);
    std::string takeStep(const Fact& fact, std::int64_t head);
    void takeIncident(const Fact& fact, std::int64_t head);
    void takeErrorCode(const std::string& meter, std::int64_t at, std::int64_t told, std::int64_t head);
    void followVerdicts(const std::string& meter, const Fact& newest, std::int64_t told, std::int64_t head);
    std::string takeFollowed(const Followed& followed, std::int64_t told, std::int64_t head);
    bool ladderClimbed(const std::string& meter) const;
    std::int64_t lastGood(const std::string& meter) const;
    void stop(const std::string& meter, bool withdraw, const std::string& code, const std::string& set, std::int64_t told,
        std::int64_t head, std::int64_t because = 0);
    void endStops(const std::string& meter, std::int64_t told, std::int64_t head);
    void moveTo(const std::string& meter, registry::MeterState to, std::int64_t told, std::int64_t head);

    Judged judge(const std::string& set, std::int64_t at, std::int64_t known) const;
    std::set<std::string> invalidBecause(const registry::acts::ControlRun& run, std::int64_t known) const;
    bool inControl(const registry::acts::ControlRun& run, std::int64_t known) const;
    const registry::acts::RangeAssigned* rangeFor(const registry::acts::ControlRun& run, std::int64_t known) const;
    void vialCauses(const std::string& vial, std::int64_t at, std::int64_t known, std::set<std::string>& causes) const;
    std::optional<std::string> lotBlocked(const std::string& lot, std::int64_t at, std::int64_t known) const;
    bool vialEnded(const std::string& vial, std::int64_t at, std::int64_t known) const;
    bool calledBack(const Judged& set, std::int64_t at, std::int64_t known) const;
    const Judged* clearing(const std::vector<Judged>& good, std::int64_t at, std::int64_t known) const;
    std::string lotOfVial(const std::string& vial) const;
    bool noticeStandsOpen(const std::string& meter, std::int64_t at, std::int64_t known) const;
    void expectClearance(const std::string& meter, std::int64_t at, std::int64_t known, Expected& expected) const;
    void expectMaterials(const std::string& meter, const Judged& newest, std::int64_t at, std::int64_t known, Expected& expected) const;
    void expectComparison(const std::string& meter, std::int64_t at, std::int64_t known, Expected& expected) const;

    registry::Zone m_zone;
    std::vector<Fact> m_facts;
    std::map<std::string, std::string> m_lotOfVial;
    std::map<std::string, std::vector<Spell>> m_spells;
    std::map<std::string, std::vector<Stop>> m_stops;
    std::map<std::string, std::set<registry::MeterState>> m_room;
    struct Renewal {
        std::int64_t at, seq;
        bool must;
    };
    struct Transfer {
        std::int64_t at, seq;
    };
    std::map<std::string, std::vector<Transfer>> m_transfers; ///< T12
    std::map<std::string, std::vector<Renewal>> m_renewals;   ///< from then on an earlier control no longer clears the meter (D7, D11)
    std::map<std::string, registry::Verdict> m_verdicts;      ///< of each set, as it stood last
    std::map<std::string, std::int64_t> m_failedAt;           ///< the last run of a rejected set, also where it was annulled since
    std::int64_t m_head = 0;                                  ///< after the last acts
};

/// What an incident of a kind does (handbook 1.5); nothing for those that stop no meter.
struct EventRule {
    std::string code;
    bool withdraws;
};
std::optional<EventRule> eventRule(registry::IncidentKind kind);

/// T1 to T15 of handbook 1.4, and who may make them.
bool isTransition(registry::MeterState from, registry::MeterState to, registry::Role who, bool byReturnStep);

} // namespace mk::model
