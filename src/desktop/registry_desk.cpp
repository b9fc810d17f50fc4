// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/registry_desk.h"

#include <chrono>

namespace mk::desktop {

namespace {

    constexpr std::chrono::seconds kPollEvery { 1 };

} // namespace

template <typename Ask, typename Answer> void RegistryDesk::post(Ask ask, Answer answer)
{
    QMetaObject::invokeMethod(
        m_worker,
        [this, worker = m_worker, ask = std::move(ask), answer = std::move(answer)] {
            auto value = ask(*worker);
            QMetaObject::invokeMethod(
                this, [answer, value = std::move(value)] { answer(value); }, Qt::QueuedConnection);
        },
        Qt::QueuedConnection);
}

RegistryDesk::RegistryDesk(DeskOptions options, QObject* parent)
    : QObject(parent)
    , m_options(std::move(options))
    , m_worker(new DeskWorker(m_options))
{
    m_worker->moveToThread(&m_thread);
    connect(&m_thread, &QThread::finished, m_worker, &QObject::deleteLater);
    m_thread.setObjectName(QStringLiteral("registry"));
    m_thread.start();
    connect(&m_poll, &QTimer::timeout, this, [this] {
        if (m_polling)
            return;
        m_polling = true;
        post([](DeskWorker& worker) { return worker.newHead(); },
            [this](const std::optional<base::Seq>& head) {
                m_polling = false;
                if (head)
                    emit changedElsewhere();
            });
    });
    m_poll.start(kPollEvery);
}

RegistryDesk::~RegistryDesk()
{
    m_poll.stop();
    // The connection belongs to the worker's thread and is closed there, after what was posted before.
    QMetaObject::invokeMethod(
        m_worker,
        [worker = m_worker, thread = &m_thread] {
            worker->close();
            thread->quit();
        },
        Qt::QueuedConnection);
    m_thread.wait();
}

base::Moment RegistryDesk::now(const registry::Zone& zone) const
{
    return m_options.past ? *m_options.past : zone.at(m_options.clock() / 1000 * 1000);
}

RegistryDesk::Number RegistryDesk::askBoard(const std::optional<base::WardId>& ward)
{
    const Number number = m_lastBoard = ++m_last;
    post([ward](DeskWorker& worker) { return worker.board(ward); },
        [this, number](const base::Result<BoardAnswer>& answer) {
            if (number == m_lastBoard)
                emit boardAnswered(number, answer);
        });
    return number;
}

RegistryDesk::Number RegistryDesk::askSheet(const SheetQuestion& question)
{
    const Number number = m_lastSheet = ++m_last;
    post([question](DeskWorker& worker) { return worker.sheet(question); },
        [this, number](const base::Result<SheetAnswer>& answer) {
            if (number == m_lastSheet)
                emit sheetAnswered(number, answer);
        });
    return number;
}

RegistryDesk::Number RegistryDesk::askMeter(const base::MeterId& meter)
{
    const Number number = m_lastMeter = ++m_last;
    post([meter](DeskWorker& worker) { return worker.meter(meter); },
        [this, number](const base::Result<MeterAnswer>& answer) {
            if (number == m_lastMeter)
                emit meterAnswered(number, answer);
        });
    return number;
}

RegistryDesk::Number RegistryDesk::record(const base::MeterId& meter, std::vector<store::NewAct> acts, const base::OperatorId& person)
{
    const Number number = ++m_last;
    post([meter, acts = std::move(acts), person](DeskWorker& worker) { return worker.record(meter, acts, person); },
        [this, number](const RecordAnswer& answer) { emit recorded(number, answer); });
    return number;
}

} // namespace mk::desktop
