// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "exchange/json_writer.h"
#include "exchange/whole_file.h"
#include "study/terminal/help.h"
#include "study/terminal/printing.h"
#include "study/terminal/usage.h"

/// What every command of a registry prints with; it stands on lower floors, where the studies find it too.
namespace mk::cli {

using exchange::JsonWriter;
using exchange::kMostPolicyBytes;
using exchange::kMostTableBytes;
using exchange::readWholeFile;
using study::addExample;
using study::between;
using study::describe;
using study::kExitBadInput;
using study::kExitDone;
using study::kExitFinding;
using study::printedStatus;
using study::printFault;
using study::printText;
using study::whenChosen;
using words::alignedTable;
using words::ignoredLine;
using words::joined;

} // namespace mk::cli
