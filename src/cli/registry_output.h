// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "exchange/json_writer.h"
#include "store/copies/verification.h"
#include "store/registrar/registrar.h"

/// What an import did and a check found, as one document and in words.
namespace mk::cli {

/// ignored  files of the folder that are none of a registry's
void writeImport(exchange::JsonWriter& json, const store::ImportReport& report, const std::vector<std::string>& ignored);
std::string importInWords(const store::ImportReport& report, const std::vector<std::string>& ignored);
/// One line for all rejected rows: the first, and how many more there are.
std::optional<base::Fault> firstRejected(const store::ImportReport& report);

/// copy  the newest checked copy; none where there is none
std::string verifiedInWords(const store::Verification& found, const registry::Record<registry::acts::BackupMade>* copy);

} // namespace mk::cli
