// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/desk/registry_desk.h"

#include <algorithm>

namespace mk::desktop {

namespace {

constexpr std::chrono::seconds kPollEvery { 1 };
constexpr std::chrono::seconds kPollServerEvery { 3 }; // it tells by itself; this finds out that it went away
constexpr std::chrono::milliseconds kFirstPause { 500 }, kLongestPause { 10'000 };

} // namespace

template <typename Ask, typename Answer>
void RegistryDesk::post(Ask ask, Answer answer)
{
    QMetaObject::invokeMethod(
        m_worker,
        [this, worker = m_worker, ask = std::move(ask), answer = std::move(answer)] {
            auto value = ask(*worker);
            QMetaObject::invokeMethod(
                this,
                [this, answer, value = std::move(value), lost = worker->lost()] {
                    onLoss(lost);
                    answer(value);
                },
                Qt::QueuedConnection);
        },
        Qt::QueuedConnection);
}

RegistryDesk::RegistryDesk(DeskOptions options, QObject* parent)
    : QObject(parent),
      m_options(std::move(options)),
      m_worker(new DeskWorker(m_options))
{
    m_worker->moveToThread(&m_thread);
    connect(&m_thread, &QThread::finished, m_worker, &QObject::deleteLater);
    m_thread.setObjectName(QStringLiteral("registry"));
    m_thread.start();
    connect(&m_poll, &QTimer::timeout, this, &RegistryDesk::lookForOthers);
    connect(m_worker, &DeskWorker::committedSomewhere, this, &RegistryDesk::lookForOthers);
    m_poll.start(m_options.onServer() ? kPollServerEvery : kPollEvery);
    m_again.setSingleShot(true);
    connect(&m_again, &QTimer::timeout, this, &RegistryDesk::tryAgain);
    if (m_options.onServer())
        tryAgain(); // before anything else: what waits here goes first
}

void RegistryDesk::lookForOthers()
{
    if (m_polling || m_lost)
        return;
    m_polling = true;
    post([](DeskWorker& worker) { return worker.newHead(); },
        [this](const std::optional<base::Seq>& head) {
            m_polling = false;
            if (head)
                emit changedElsewhere();
        });
}

void RegistryDesk::tryAgain()
{
    if (m_trying)
        return;
    m_again.stop();
    m_trying = true;
    post([](DeskWorker& worker) { return worker.contact(); }, [this](const ContactAnswer& answer) { onContact(answer); });
}

void RegistryDesk::refusalsRead()
{
    post(
        [](DeskWorker& worker) {
            worker.refusalsRead();
            return 0;
        },
        [](int) {});
}

/// Comes before the answer that found it out, so that the answer finds the window knowing.
void RegistryDesk::onLoss(const std::optional<base::Fault>& fault)
{
    if (!fault || m_lost)
        return;
    m_lost = true;
    m_pause = kFirstPause;
    if (fault->kind == base::FaultKind::Unreachable && !m_trying)
        m_again.start(m_pause);
    emit lost(*fault);
}

void RegistryDesk::onContact(const ContactAnswer& answer)
{
    m_trying = false;
    if (!answer.fault) {
        m_lost = false;
        m_reached = true;
        emit back(answer);
        return;
    }
    // A server that never let us in waits for a person: it would ask for its password again and again.
    if (answer.fault->kind == base::FaultKind::Unreachable || m_reached)
        m_again.start(m_pause);
    m_pause = std::min(2 * m_pause, kLongestPause);
    emit stillLost(*answer.fault);
}

RegistryDesk::~RegistryDesk()
{
    m_poll.stop();
    m_again.stop();
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

RegistryDesk::Number RegistryDesk::signIn(const base::OperatorId& person, store::Secret secret, const std::optional<base::WardId>& ward)
{
    const Number number = ++m_last;
    // Shared between the copies of the request, and wiped with the last of them.
    post([person, ward, kept = std::make_shared<store::Secret>(std::move(secret))](
             DeskWorker& worker) { return worker.signIn(person, *kept, ward); },
        [this, number](const SignInAnswer& answer) { emit signInAnswered(number, answer); });
    return number;
}

RegistryDesk::Number RegistryDesk::replaceSecret(
    const base::OperatorId& person, store::Secret present, store::Secret next, const std::optional<base::WardId>& ward)
{
    const Number number = ++m_last;
    auto kept = std::make_shared<std::pair<store::Secret, store::Secret>>(std::move(present), std::move(next));
    post([person, ward, kept = std::move(kept)](
             DeskWorker& worker) { return worker.replaceSecret(person, kept->first, kept->second, ward); },
        [this, number](const SignInAnswer& answer) { emit signInAnswered(number, answer); });
    return number;
}

void RegistryDesk::signOff()
{
    post([](DeskWorker& worker) { return worker.signOff(), true; }, [](bool) {});
}

} // namespace mk::desktop
