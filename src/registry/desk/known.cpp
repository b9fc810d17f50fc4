// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/known.h"

namespace mk::registry::desk {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::refused;
using base::Result;

namespace {

template <typename R>
Result<const R*> orUnknown(Result<const R*> found, std::string_view what, const std::string& id)
{
    return found && *found == nullptr ? Result<const R*>(unknown(what, id)) : found;
}

} // namespace

Fault unknown(std::string_view what, const std::string& id)
{
    return { FaultKind::NotFound, "no " + std::string(what) + " is called '" + id + "'; record it first, or check how it is written" };
}

Done needWard(const Desk& desk, const base::WardId& ward)
{
    const auto known = desk.facts.hasWard(ward);
    if (!known)
        return known.error();
    return *known ? Done() : Done(unknown("ward", ward.value));
}

Result<const MeterRecord*> needMeter(const Desk& desk, const base::MeterId& meter)
{
    return orUnknown(desk.facts.meter(meter), "meter", meter.value);
}

Result<const ModelRecord*> needModel(const Desk& desk, const base::ModelId& model)
{
    return orUnknown(desk.facts.model(model), "model", model.value);
}

Result<const StripLotRecord*> needStripLot(const Desk& desk, const base::StripLotId& lot)
{
    return orUnknown(desk.facts.stripLot(lot), "strip lot", lot.value);
}

Result<const ControlLotRecord*> needControlLot(const Desk& desk, const base::ControlLotId& lot)
{
    return orUnknown(desk.facts.controlLot(lot), "control lot", lot.value);
}

Result<const StripVialRecord*> needStripVial(const Desk& desk, const base::StripVialId& vial)
{
    return orUnknown(desk.facts.stripVial(vial), "strip vial", vial.value);
}

Result<const ControlVialRecord*> needControlVial(const Desk& desk, const base::ControlVialId& vial)
{
    return orUnknown(desk.facts.controlVial(vial), "control vial", vial.value);
}

Result<const OperatorRecord*> needPerson(const Desk& desk, const base::OperatorId& person)
{
    return orUnknown(desk.facts.person(person), "operator", person.value);
}

Done needMeterAndPerson(const Desk& desk, const base::MeterId& meter, const base::OperatorId& person)
{
    if (const auto known = needMeter(desk, meter); !known)
        return known.error();
    const auto known = needPerson(desk, person);
    return known ? Done() : Done(known.error());
}

Result<const OperatorRecord*> needActive(const Desk& desk, const base::OperatorId& person)
{
    const auto known = needPerson(desk, person);
    if (!known)
        return known;
    const auto competency = desk.facts.competency(**known, std::nullopt, desk.occasion.now);
    if (!competency)
        return competency.error();
    if (competency->state == CompetencyState::Closed)
        return refused("the account of '" + person.value + "' is closed; somebody whose account is open records it");
    return known;
}

Done needCoordinator(const Desk& desk, const base::OperatorId& person, std::string_view what)
{
    const auto known = needActive(desk, person);
    if (!known)
        return known.error();
    const Role role = (*known)->act.role;
    return role == Role::Coordinator ? Done()
                                     : refused("a " + std::string(word(role)) + " may not " + std::string(what) + "; the coordinator does");
}

Done mayRecord(const OperatorRecord& person)
{
    return person.act.role == Role::Inspector ? Done(refused("an inspector reads and records nothing")) : Done();
}

Done mayRecord(const Desk& desk, const base::OperatorId& person)
{
    const auto known = needPerson(desk, person);
    return known ? mayRecord(**known) : Done(known.error());
}

Done onlyCoordinator(const OperatorRecord& person, std::string_view what)
{
    return person.act.role == Role::Coordinator ? Done() : Done(refused("only the coordinator " + std::string(what)));
}

Done onlyCoordinatorRecords(const Desk& desk, const base::OperatorId& person, std::string_view what)
{
    const auto known = needPerson(desk, person);
    if (!known)
        return known.error();
    if (const Done may = mayRecord(**known); !may)
        return may;
    return onlyCoordinator(**known, what);
}

Result<const ModelRecord*> modelOfMeter(const Desk& desk, const base::MeterId& meter)
{
    const auto known = desk.facts.meter(meter);
    if (!known)
        return known.error();
    return *known == nullptr ? Result<const ModelRecord*>(nullptr) : desk.facts.model((*known)->act.model);
}

} // namespace mk::registry::desk
