// SPDX-License-Identifier: GPL-3.0-or-later
// Who may undo what, and who must say so a second time (handbook 8.4, 17.12, 17.13, 17.16).
#include "model/ward_reference.h"

#include <algorithm>

namespace mk::model {

using namespace registry;

namespace {

using Verdicts = std::map<std::string, Verdict>;

Verdicts verdictsOf(const Reference& reference)
{
    Verdicts all;
    for (const auto& meter : reference.meters())
        for (const auto& set : reference.sets(meter, kNever))
            all[set.set] = set.verdict;
    return all;
}

bool isGood(Verdict verdict)
{
    return verdict == Verdict::Accepted || verdict == Verdict::Warned;
}

/// What would change. Between a set that may not count and one that lacks something the pages call neither the better.
struct Change {
    bool better = false, worse = false, rejects = false, other = false;
};

Change changeOf(const Verdicts& before, const Verdicts& after)
{
    Change change;
    for (const auto& [set, was] : before) {
        const auto found = after.find(set);
        if (found == after.end()) { // it is no set any more: an older one speaks
            (isGood(was) ? change.worse : change.better) = true;
            continue;
        }
        const Verdict is = found->second;
        if (is == was)
            continue;
        change.rejects = change.rejects || is == Verdict::Rejected;
        change.better = change.better || was == Verdict::Rejected || isGood(is);
        change.worse = change.worse || is == Verdict::Rejected || isGood(was);
        change.other = true;
    }
    return change;
}

std::optional<base::OperatorId> secondNamedIn(const Act& mending)
{
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&mending))
        return correction->confirmedBy;
    return std::get<acts::EntryAnnulled>(mending).confirmedBy;
}

bool saysItWaits(const Act& mending)
{
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&mending))
        return correction->waits == YesNo::Yes;
    return std::get<acts::EntryAnnulled>(mending).waits == YesNo::Yes;
}

bool isMending(const Act& act)
{
    return std::holds_alternative<acts::EntryCorrected>(act) || std::holds_alternative<acts::EntryAnnulled>(act);
}

/// What a run says in that column.
std::string textIn(const acts::ControlRun& run, const std::string& column)
{
    return column == "result" ? toText(run.result) : column == "operator" ? run.by.value : run.stripVial.value;
}

bool isAgain(const acts::RangeConfirmed& again, const acts::RangeAssigned& range)
{
    return again.low == range.low && again.high == range.high;
}

} // namespace

const Fact* Reference::entry(std::int64_t seq) const
{
    const auto found = std::ranges::find(m_facts, seq, &Fact::seq);
    return found == m_facts.end() ? nullptr : &*found;
}

Fact* Reference::noted(std::int64_t seq)
{
    const auto found = std::ranges::find(m_facts, seq, &Fact::seq);
    return found == m_facts.end() ? nullptr : &*found;
}

/// The run of that set and level that was the newest then; the record that a file calls so.
std::int64_t Reference::targetOf(const Act& mending) const
{
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&mending)) {
        for (auto other = m_facts.rbegin(); other != m_facts.rend(); ++other)
            if (const auto* run = std::get_if<acts::ControlRun>(&other->act);
                run && run->set == correction->set && run->level == correction->level && other->annulled == kNever)
                return other->seq;
        return 0;
    }
    const auto& annulment = std::get<acts::EntryAnnulled>(mending);
    if (annulment.file_ == "entry")
        return std::stoll(annulment.key);
    std::map<std::string, int> rows;
    for (const auto& other : m_facts) {
        std::string key = keyOf(other.act);
        if (std::holds_alternative<acts::ControlRun>(other.act))
            key += "/" + std::to_string(++rows[key]);
        if (fileOf(other.act) == annulment.file_ && key == annulment.key)
            return other.seq;
    }
    return 0;
}

bool Reference::maySecond(const std::string& person, const std::set<std::string>& parts, std::int64_t at) const
{
    const auto role = roleOf(person);
    if (!role || *role == Role::Inspector || parts.contains(person))
        return false;
    for (const auto* fact : all<acts::OperatorChanged>())
        if (const auto& change = as<acts::OperatorChanged>(*fact); change.person.value == person && change.closed == YesNo::Yes)
            return false;
    if (*role == Role::Coordinator)
        return true;
    const base::Date today = m_zone.dateOf(m_zone.at(at));
    for (const auto* fact : all<acts::OperatorEnrolled>())
        if (const auto& nurse = as<acts::OperatorEnrolled>(*fact); nurse.id.value == person)
            return nurse.competentFrom && nurse.competentUntil && *nurse.competentFrom <= today && today <= *nurse.competentUntil;
    return false;
}

std::set<std::string> Reference::partsIn(const Fact& mending) const
{
    std::set<std::string> parts { mending.person, personOf(mending.act)->value };
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&mending.act); correction && correction->column == "operator")
        parts.insert({ correction->oldText, correction->newText });
    if (const Fact* target = entry(mending.target)) {
        parts.insert({ target->person, subjectOf(target->act) });
        if (const auto who = personOf(target->act))
            parts.insert(who->value);
        for (const auto& [seq, version] : target->versions)
            parts.insert(version.by.value);
    }
    return parts;
}

bool Reference::stands(const Fact& mending) const
{
    const Fact* target = entry(mending.target);
    if (target == nullptr || target->annulled != kNever)
        return false;
    const auto* correction = std::get_if<acts::EntryCorrected>(&mending.act);
    return correction == nullptr || textIn(runAt(*target, kNever), correction->column) == correction->oldText;
}

/// What it says becomes so, from that entry on.
void Reference::mend(const Fact& mending, std::int64_t by)
{
    Fact* target = noted(mending.target);
    if (target == nullptr)
        return;
    const auto* correction = std::get_if<acts::EntryCorrected>(&mending.act);
    if (correction == nullptr) {
        target->annulled = std::min(target->annulled, by);
        return;
    }
    acts::ControlRun version = runAt(*target, kNever);
    if (correction->column == "result")
        version.result = parseReading(correction->newText).value();
    if (correction->column == "strip_vial")
        version.stripVial = base::StripVialId(correction->newText);
    if (correction->column == "operator")
        version.by = base::OperatorId(correction->newText);
    target->versions.emplace_back(by, version);
}

/// "Every correction or annulment that improves a verdict, lifts a stop or ends a look-back, whatever the verdict was before" (17.12).
Second Reference::secondFor(const Fact& mending) const
{
    Reference mended = *this;
    mended.mend(mending, mending.seq);
    const Fact* target = entry(mending.target);
    if (target == nullptr || !std::holds_alternative<acts::ControlRun>(target->act))
        return secondForOther(mending, mended);
    const Change change = changeOf(verdictsOf(*this), verdictsOf(mended));
    if (change.better)
        return change.rejects ? Second::Open : Second::Needed; // what stops a meter waits for nobody
    return change.other && !change.worse ? Second::Open : Second::NotNeeded;
}

/// What else is annulled lifts a stop where a meter has fewer reasons without it. What was about no meter yet the pages leave open.
Second Reference::secondForOther(const Fact& mending, const Reference& mended) const
{
    Change change = changeOf(verdictsOf(*this), verdictsOf(mended));
    for (const auto& meter : meters()) {
        const Expected before = expect(meter, mending.told), after = mended.expect(meter, mending.told);
        const auto lacks = [](const Expected& one, const Expected& other) {
            return std::ranges::any_of(one.must, [&](const std::string& code) {
                return !other.must.contains(code)
                    && std::ranges::none_of(other.oneOf, [&](const auto& group) { return group.contains(code); });
            }) || one.oneOf.size() > other.oneOf.size();
        };
        change.better = change.better || lacks(before, after);
        change.worse = change.worse || lacks(after, before);
    }
    if (change.better && !change.worse)
        return Second::Needed;
    return change.worse && !change.better ? Second::NotNeeded : Second::Open;
}

/// The role that the annulled act asks; one's own of the same day asks no other (17.13).
bool Reference::mayAnnul(const Fact& annulment) const
{
    const auto role = roleOf(as<acts::EntryAnnulled>(annulment).by.value);
    const Fact* target = entry(annulment.target);
    if (!role || *role == Role::Inspector || target == nullptr)
        return false;
    const bool own = target->person == as<acts::EntryAnnulled>(annulment).by.value
        && m_zone.dateOf(m_zone.at(target->told)) == m_zone.dateOf(m_zone.at(annulment.told));
    const auto* event = std::get_if<acts::LotEvent>(&target->act);
    const auto* range = std::get_if<acts::RangeAssigned>(&target->act);
    const bool coordinators = (event && event->what != LotEventKind::Quarantined) || (range && (range->mean || range->sd));
    return own || !coordinators || *role == Role::Coordinator;
}

std::string Reference::takeMending(Fact& mending)
{
    mending.target = targetOf(mending.act);
    const std::string which = std::string(kindOf(mending.act)) + " of entry " + std::to_string(mending.target);
    if (const Fact* target = entry(mending.target); target == nullptr || target->annulled != kNever)
        return "accepted: " + which + ", which is not there\n";
    std::string wrong;
    if (std::holds_alternative<acts::EntryAnnulled>(mending.act) && !mayAnnul(mending))
        wrong += "accepted: " + which + " by " + mending.person + ", who may not\n";
    const auto second = secondNamedIn(mending.act);
    if (second && !maySecond(second->value, partsIn(mending), mending.told))
        wrong += "accepted: " + which + ", confirmed by " + second->value + ", who may not\n";
    const Second owed = second ? Second::NotNeeded : secondFor(mending);
    mending.waits = saysItWaits(mending.act);
    if (owed == Second::Needed && !mending.waits)
        wrong += which + " waits for nobody\n";
    if (owed == Second::NotNeeded && mending.waits)
        wrong += which + " waits, though it betters nothing, or was confirmed at once\n";
    if (!mending.waits)
        mend(Fact(mending), mending.seq);
    return wrong;
}

/// The second person's word: now it follows.
std::string Reference::takeWord(const Fact& word)
{
    const auto& said = as<acts::CorrectionConfirmed>(word);
    Fact* mending = noted(said.entry.value);
    const std::string what = "accepted: " + said.by.value + " confirms entry " + std::to_string(said.entry.value);
    if (mending == nullptr || !isMending(mending->act))
        return what + ", which corrects and annuls nothing\n";
    std::string wrong;
    if (mending->confirmed != kNever || secondNamedIn(mending->act))
        wrong += what + " a second time\n";
    if (!maySecond(said.by.value, partsIn(*mending), word.told))
        wrong += what + ", and has a part in it, or may not\n";
    if (mending->waits && !stands(*mending))
        wrong += what + ", and what that speaks of is not so any more\n";
    mending->confirmed = word.seq, mending->confirmedAt = word.told;
    if (mending->waits)
        mend(Fact(*mending), word.seq);
    return wrong;
}

/// A nurse's is typed twice by two people.
std::string Reference::takeRange(Fact& range)
{
    const auto& said = as<acts::RangeAssigned>(range);
    if (range.takenOver)
        return said.typedAt || said.waits ? "a range that was taken over says when it was typed\n" : std::string();
    std::string wrong;
    range.waits = said.waits == YesNo::Yes;
    if (!said.typedAt || said.typedAt->utcMs != range.told)
        wrong += "a range does not say when it was typed\n";
    if (range.waits != (roleOf(range.person) == Role::Nurse))
        wrong += "a range of " + range.person + (range.waits ? " waits\n" : " waits for nobody\n");
    if (roleOf(range.person) == Role::Inspector || (roleOf(range.person) == Role::Nurse && (said.mean || said.sd)))
        wrong += "accepted: a range of " + range.person + ", who may not\n";
    return wrong;
}

std::string Reference::takeAgain(const Fact& again)
{
    const auto& said = as<acts::RangeConfirmed>(again);
    const Fact* found = waitingRange(said.stripLot, said.controlLot, said.level);
    Fact* waiting = found == nullptr ? nullptr : noted(found->seq);
    if (waiting == nullptr)
        return {};
    std::string wrong;
    if (!isAgain(said, as<acts::RangeAssigned>(*waiting)))
        wrong += "accepted: another range than the one that waits\n";
    if (!maySecond(said.by.value, { waiting->person }, again.told))
        wrong += "accepted: " + said.by.value + " confirms the range of " + waiting->person + " and may not\n";
    waiting->confirmed = again.seq, waiting->confirmedAt = again.told;
    return wrong;
}

const Fact* Reference::waitingRange(const base::StripLotId& strip, const base::ControlLotId& control, Level level) const
{
    const Fact* newest = nullptr;
    for (const auto* fact : all<acts::RangeAssigned>())
        if (const auto& range = as<acts::RangeAssigned>(*fact); fact->waits && fact->confirmed == kNever && fact->annulled == kNever
            && range.stripLot == strip && range.controlLot == control && range.level == level)
            newest = fact;
    return newest;
}

bool Reference::isOwed(const acts::CorrectionConfirmed& word, std::int64_t at) const
{
    const Fact* mending = entry(word.entry.value);
    return mending != nullptr && isMending(mending->act) && mending->waits && mending->confirmed == kNever && stands(*mending)
        && maySecond(word.by.value, partsIn(*mending), at);
}

bool Reference::isOwed(const acts::RangeConfirmed& again, std::int64_t at) const
{
    const Fact* waiting = waitingRange(again.stripLot, again.controlLot, again.level);
    return waiting != nullptr && isAgain(again, as<acts::RangeAssigned>(*waiting)) && maySecond(again.by.value, { waiting->person }, at);
}

/// What becomes so with the newest entry: its own act, or what waited for it; null where nothing follows yet.
const Act* Reference::effectOf(const Fact& newest) const
{
    const Fact* fact = entry(newest.seq);
    if (const auto* word = std::get_if<acts::CorrectionConfirmed>(&newest.act))
        fact = entry(word->entry.value);
    else if (fact != nullptr && fact->waits)
        return nullptr;
    return fact == nullptr ? nullptr : &fact->act;
}

} // namespace mk::model
