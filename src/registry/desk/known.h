// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"
#include "registry/desk/refusal.h"

/// What an act names must be on record, and who does it must be allowed to. errors NotFound, Refused
namespace mk::registry::desk {

base::Done needWard(const Desk& desk, const base::WardId& ward);
base::Result<const MeterRecord*> needMeter(const Desk& desk, const base::MeterId& meter);
base::Result<const ModelRecord*> needModel(const Desk& desk, const base::ModelId& model);
base::Result<const StripLotRecord*> needStripLot(const Desk& desk, const base::StripLotId& lot);
base::Result<const ControlLotRecord*> needControlLot(const Desk& desk, const base::ControlLotId& lot);
base::Result<const StripVialRecord*> needStripVial(const Desk& desk, const base::StripVialId& vial);
base::Result<const ControlVialRecord*> needControlVial(const Desk& desk, const base::ControlVialId& vial);
base::Result<const OperatorRecord*> needPerson(const Desk& desk, const base::OperatorId& person);
/// Both, as most acts name a meter and who did it.
base::Done needMeterAndPerson(const Desk& desk, const base::MeterId& meter, const base::OperatorId& person);

/// On record, and the account is not closed.
base::Result<const OperatorRecord*> needActive(const Desk& desk, const base::OperatorId& person);
/// otherwise  what another is told, with the role in its place
base::Done needCoordinator(const Desk& desk, const base::OperatorId& person, Refusal otherwise);
/// An inspector reads and records nothing.
base::Done mayRecord(const OperatorRecord& person);
base::Done mayRecord(const Desk& desk, const base::OperatorId& person);
base::Done onlyCoordinator(const OperatorRecord& person, Refusal otherwise);
/// The same, where an inspector is told what an inspector does.
base::Done onlyCoordinatorRecords(const Desk& desk, const base::OperatorId& person, Refusal otherwise);

/// Null where the meter or its model is not on record.
base::Result<const ModelRecord*> modelOfMeter(const Desk& desk, const base::MeterId& meter);

} // namespace mk::registry::desk
