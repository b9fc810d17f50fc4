// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/db/described_row.h"

namespace mk::store {

/// What a record of a file is called there, and the entry that carries it. plainKey  with times as the wall clock shows them
struct ActKeyRow {
    static constexpr std::string_view table = "act_key", order = "file, key, from_seq";
    std::string file, key, plainKey;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("file", s.file), v("key", s.key), v("plain_key", s.plainKey);
        Version::describe(v, s.version);
    }
};

} // namespace mk::store
