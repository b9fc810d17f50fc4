// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk_values.h"

#include <QObject>

#include <memory>

namespace mk::desktop {

struct DeskOptions {
    std::string path;
    std::optional<base::Moment> past; ///< looks at this moment, and writes nothing
    store::Clock clock = store::machineClock;
    std::string station = "desk";
};

/// Owns the registry's file, on a thread of its own. Every call answers a value; nothing here knows a window.
class DeskWorker final : public QObject {
    Q_OBJECT

public:
    explicit DeskWorker(DeskOptions options)
        : m_options(std::move(options))
    {
    }

    base::Result<BoardAnswer> board(const std::optional<base::WardId>& ward);
    base::Result<SheetAnswer> sheet(const SheetQuestion& question);
    base::Result<MeterAnswer> meter(const base::MeterId& id);
    RecordAnswer record(const base::MeterId& meter, const std::vector<store::NewAct>& acts, const base::OperatorId& person);
    /// The newest entry, where it is another one than at the last call; another program may have written.
    std::optional<base::Seq> newHead();
    void close();

private:
    base::Done ready();
    base::Moment now() const;
    BoardLine lineOf(store::BoardRow row) const;
    base::Done addVials(BoardAnswer& answer);
    /// Where what was remembered may not be used any more, the newest open vial of the ward that may.
    base::Done preferUsable(SheetAnswer& answer);
    base::Done fillStripVial(SheetAnswer& answer, const SheetQuestion& question);
    base::Result<SheetLevel> levelOf(SheetAnswer& answer, const SheetQuestion& question, registry::Level level);

    DeskOptions m_options;
    std::unique_ptr<store::Session> m_session;
    std::optional<store::Reader> m_reader;
    std::unique_ptr<store::Registrar> m_registrar;
    base::Seq m_head;
};

} // namespace mk::desktop
