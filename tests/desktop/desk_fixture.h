// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/window/main_window.h"

#include <QTemporaryDir>

#include <gtest/gtest.h>

/// A small invented ward in a temporary registry: M-11 and M-12 on ward W5, one strip lot, two control lots.
namespace mk::desktop {

inline base::Moment wall(const char* text)
{
    return base::momentOf(base::parseTimeText(text)->wall, 60);
}

inline base::Decimal decimal(const char* typed)
{
    return *base::Decimal::parse(typed);
}

class DeskFixture : public ::testing::Test {
protected:
    void SetUp() override;

    store::Clock clock() const
    {
        return [this] { return m_now.utcMs; };
    }
    using Settings = std::vector<std::pair<std::string, std::string>>;
    /// Where the registry lives, and its settings that differ from the default policy.
    virtual std::string place() const { return m_folder.filePath(QStringLiteral("ward.mkr")).toStdString(); }
    virtual Settings settings() const { return {}; }
    WindowOptions options() const;
    /// Both levels of a set that is accepted.
    void runSet(const char* meter, const char* set, const char* low, const char* high);
    void record(std::vector<store::NewAct> acts, const base::OperatorId& person = base::OperatorId("arlen"));

    QTemporaryDir m_folder;
    base::Moment m_now = wall("2026-11-18T06:47:00");
};

} // namespace mk::desktop
