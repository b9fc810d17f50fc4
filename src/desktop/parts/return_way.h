// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/return_owed.h"

#include <QScrollArea>

#include <utility>

namespace mk::desktop {

class SideTitle;

/// What a stopped meter owes before it may be used: each step, whether it is done, by whom, and who may do it. It only shows.
class ReturnWay final : public QScrollArea {
    Q_OBJECT

public:
    explicit ReturnWay(QWidget* parent = nullptr);

    using People = std::vector<std::pair<std::string, std::string>>; ///< id and name
    void setSteps(const std::vector<registry::AskedForReturn>& steps, const People& people, const registry::Zone& zone);

private:
    void addStep(const registry::AskedForReturn& step, bool now, std::size_t number, const QString& beneath);
};

} // namespace mk::desktop
