// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/people/sign_ins.h"
#include "store/read/reader.h"

/// Lists about people: who may count, and whose badge was at two places.
namespace mk::store {

struct PersonLine {
    registry::OperatorRecord person;
    registry::Competency forAll;                                        ///< on every model
    std::vector<std::pair<base::ModelId, registry::Competency>> models; ///< where an assessment names the model
    std::optional<base::Moment> lastControl;
    std::int64_t observed = 0; ///< how often somebody watched their technique
};

base::Result<std::vector<PersonLine>> readPeople(Reader& reader, base::Moment at);

/// Sign-ins and sign-offs up to then, with the stations of their entries, in the order of the entries.
base::Result<std::vector<registry::SignIn>> readSignIns(Reader& reader, base::Moment at);

} // namespace mk::store
