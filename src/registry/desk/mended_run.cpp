// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/mended_run.h"

#include "registry/desk/judging.h"
#include "registry/desk/refusal.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Fault;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

/// Hands the named field of a run the text of a correction.
struct FieldSetter {
    std::string_view column;
    const std::string& text;
    const Zone& zone;
    bool found = false;
    std::optional<Fault> fault;

    template <typename T>
    void operator()(std::string_view name, T& value, acts::Field)
    {
        if (name == column)
            take(value);
    }
    template <typename T>
    void operator()(std::string_view name, std::optional<T>& value, acts::Field)
    {
        if (name != column)
            return;
        if (text.empty())
            found = (value.reset(), true);
        else
            take(value.emplace());
    }

private:
    template <typename T>
    void take(T& value)
    {
        found = true;
        auto read = TextForm<T>::read(text, { &zone, nullptr });
        if (read)
            value = std::move(read).value();
        else
            fault = read.error();
    }
};

/// The text of the named field, as the journal writes it.
struct FieldGetter {
    std::string_view column;
    std::string text;

    template <typename T>
    void operator()(std::string_view name, const T& value, acts::Field)
    {
        if (name == column)
            text = TextForm<T>::write(value);
    }
    template <typename T>
    void operator()(std::string_view name, const std::optional<T>& value, acts::Field)
    {
        if (name == column && value)
            text = TextForm<T>::write(*value);
    }
};

} // namespace

Result<RunRecord> correctedRun(const Desk& desk, const acts::EntryCorrected& a, std::optional<Seq> entered)
{
    const auto runs = desk.facts.runs(a.set);
    if (!runs)
        return runs.error();
    // What stands is judged before it is changed, so that the chain shows both verdicts.
    if (!runs->empty())
        if (const Done settled = desk.judging.settleMeter(runs->front().run.meter); !settled)
            return settled.error();
    const auto newest = std::find_if(
        runs->rbegin(), runs->rend(), [&](const RunRecord& run) { return run.run.level == a.level && (!entered || run.seq < *entered); });
    if (newest == runs->rend())
        return refuse(Refusal::RunOfLevelMissing, a.set.value, a.level);
    return *newest;
}

Result<acts::ControlRun> corrected(const RunRecord& run, const acts::EntryCorrected& a, const Zone& zone)
{
    FieldGetter current { a.column, {} };
    acts::ControlRun::describe(current, run.run);
    std::string old = a.oldText;
    if (a.column == "at")
        if (const auto moment = TextForm<Moment>::read(old, { &zone, nullptr }); moment && *moment == run.run.at)
            old = current.text;
    acts::ControlRun changed = run.run;
    FieldSetter setter { a.column, a.newText, zone, false, {} };
    acts::ControlRun::describe(setter, changed);
    if (!setter.found)
        return refuse(Refusal::NoSuchColumn, a.column);
    if (old != current.text)
        return refuse(Refusal::CorrectedBefore, a.column, current.text, a.oldText);
    if (setter.fault)
        return *setter.fault;
    if (run.mark && changed.at > run.mark->recordedAt)
        return refuse(Refusal::RunBehindItsEntry, run.mark->recordedAt);
    return changed;
}

} // namespace mk::registry::desk
