// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fault_ward.h"

#include <QJsonObject>
#include <QStringList>

#include <string>
#include <vector>

namespace mk::faults {

QString text(const std::string& path);
QJsonObject jsonOf(const Ran& ran);
bool holds(const std::string& whole, const std::string& part);

/// A ward with six sets, and one copy of it.
class Drill {
public:
    Drill();

    FaultWard& ward() { return m_ward; }
    std::string file(const std::string& name) const { return m_ward.folder() + "/" + name; }
    /// meterkeep-cli on the ward's registry.
    Ran run(const std::vector<const char*>& words) const;
    void record(const std::string& prefix, int from, int count) const { recordIn(m_ward.registry(), prefix, from, count); }
    static void recordIn(const std::string& registry, const std::string& prefix, int from, int count);
    const std::string& copy() const { return m_copy; }
    const std::string& copyBytes() const { return m_copyBytes; }

private:
    FaultWard m_ward;
    std::string m_copy, m_copyBytes;
};

/// On a plain connection, as somebody would who owns the machine.
void tamper(const std::string& path, const QStringList& statements);
/// The file's bytes, with the first page of a table or index overwritten.
std::string withDamagedPage(const std::string& path, const char* table);
/// What a copying left in a folder.
QStringList leftovers(const std::string& folder);

} // namespace mk::faults
