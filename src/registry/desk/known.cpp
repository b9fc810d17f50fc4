// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/known.h"

namespace mk::registry::desk {

using base::Done;
using base::Result;

namespace {

template <typename R>
Result<const R*> orElse(Result<const R*> found, Refusal otherwise, const std::string& id)
{
    return found && *found == nullptr ? Result<const R*>(refuse(otherwise, id)) : found;
}

} // namespace

Done needWard(const Desk& desk, const base::WardId& ward)
{
    const auto known = desk.facts.hasWard(ward);
    if (!known)
        return known.error();
    return *known ? Done() : Done(refuse(Refusal::WardUnknown, ward.value));
}

Result<const MeterRecord*> needMeter(const Desk& desk, const base::MeterId& meter)
{
    return orElse(desk.facts.meter(meter), Refusal::MeterUnknown, meter.value);
}

Result<const ModelRecord*> needModel(const Desk& desk, const base::ModelId& model)
{
    return orElse(desk.facts.model(model), Refusal::ModelUnknown, model.value);
}

Result<const StripLotRecord*> needStripLot(const Desk& desk, const base::StripLotId& lot)
{
    return orElse(desk.facts.stripLot(lot), Refusal::StripLotUnknown, lot.value);
}

Result<const ControlLotRecord*> needControlLot(const Desk& desk, const base::ControlLotId& lot)
{
    return orElse(desk.facts.controlLot(lot), Refusal::ControlLotUnknown, lot.value);
}

Result<const StripVialRecord*> needStripVial(const Desk& desk, const base::StripVialId& vial)
{
    return orElse(desk.facts.stripVial(vial), Refusal::StripVialUnknown, vial.value);
}

Result<const ControlVialRecord*> needControlVial(const Desk& desk, const base::ControlVialId& vial)
{
    return orElse(desk.facts.controlVial(vial), Refusal::ControlVialUnknown, vial.value);
}

Result<const OperatorRecord*> needPerson(const Desk& desk, const base::OperatorId& person)
{
    return orElse(desk.facts.person(person), Refusal::OperatorUnknown, person.value);
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
        return refuse(Refusal::AccountClosed, person.value);
    return known;
}

Done needCoordinator(const Desk& desk, const base::OperatorId& person, Refusal otherwise)
{
    const auto known = needActive(desk, person);
    if (!known)
        return known.error();
    const Role role = (*known)->act.role;
    return role == Role::Coordinator ? Done() : refuse(otherwise, role);
}

Done mayRecord(const OperatorRecord& person)
{
    return person.act.role == Role::Inspector ? Done(refuse(Refusal::InspectorRecordsNothing)) : Done();
}

Done mayRecord(const Desk& desk, const base::OperatorId& person)
{
    const auto known = needPerson(desk, person);
    return known ? mayRecord(**known) : Done(known.error());
}

Done onlyCoordinator(const OperatorRecord& person, Refusal otherwise)
{
    return person.act.role == Role::Coordinator ? Done() : Done(refuse(otherwise));
}

Done onlyCoordinatorRecords(const Desk& desk, const base::OperatorId& person, Refusal otherwise)
{
    const auto known = needPerson(desk, person);
    if (!known)
        return known.error();
    if (const Done may = mayRecord(**known); !may)
        return may;
    return onlyCoordinator(**known, otherwise);
}

Result<const ModelRecord*> modelOfMeter(const Desk& desk, const base::MeterId& meter)
{
    const auto known = desk.facts.meter(meter);
    if (!known)
        return known.error();
    return *known == nullptr ? Result<const ModelRecord*>(nullptr) : desk.facts.model((*known)->act.model);
}

} // namespace mk::registry::desk
