// SPDX-License-Identifier: GPL-3.0-or-later
#include "worker.h"

#include "fault_ward.h"

#include <QCoreApplication>

#include <unistd.h>

#include <cstdio>

namespace mk::faults {

namespace {

constexpr int kMostWaitMs = 180'000; // two that write in turn, under the sanitizers, on a machine full of other tests

/// Unbuffered, since what was said must be out before a SIGKILL.
bool sayLine(const std::string& text)
{
    const std::string line = text + "\n";
    return ::write(STDOUT_FILENO, line.data(), line.size()) == static_cast<ssize_t>(line.size());
}

int complain(const base::Fault& fault)
{
    std::fprintf(stderr, "%s\n", fault.text.c_str());
    return 1;
}

} // namespace

int workerMain(const QStringList& arguments)
{
    const std::string meter = arguments.value(1).toStdString();
    const std::string prefix = arguments.value(2).toStdString();
    const int count = arguments.value(3).toInt();
    const int first = arguments.value(4).toInt();
    const int step = arguments.value(5).toInt();
    auto session = store::Session::open(arguments.value(0).toStdString(), store::Session::Access::ReadWrite);
    if (!session)
        return complain(session.error());
    auto registrar = store::Registrar::open(**session, store::machineClock);
    if (!registrar)
        return complain(registrar.error());
    char go = 0;
    if (!sayLine("ready") || ::read(STDIN_FILENO, &go, 1) != 1)
        return 1;
    for (int i = 0; count == 0 || i < count; ++i) {
        const std::string name = prefix + "-" + std::to_string(i);
        const auto outcomes = (*registrar)->record(setOf(name, meter, first + i * step, true), { base::OperatorId("hale"), "worker" });
        if (!outcomes)
            return complain(outcomes.error());
        if (!sayLine(name))
            return 1;
    }
    return 0;
}

Worker::Worker(const Work& work)
{
    m_process.setProgram(QCoreApplication::applicationFilePath());
    m_process.setArguments({ QStringLiteral("--worker"), QString::fromStdString(work.registry), QString::fromStdString(work.meter),
        QString::fromStdString(work.prefix), QString::number(work.count), QString::number(work.first), QString::number(work.step) });
    m_process.start();
}

Worker::~Worker()
{
    if (m_process.state() != QProcess::NotRunning)
        killNow();
}

bool Worker::waitUntilReady()
{
    while (!m_ready && listen(kMostWaitMs)) { }
    return m_ready;
}

void Worker::letGo()
{
    m_process.write("\n");
    m_process.waitForBytesWritten();
}

bool Worker::listen(int mostMs)
{
    m_process.waitForReadyRead(mostMs);
    take();
    return m_process.state() != QProcess::NotRunning;
}

void Worker::killNow()
{
    m_process.kill();
    m_process.waitForFinished();
    take();
}

int Worker::finish()
{
    if (m_process.state() != QProcess::NotRunning && !m_process.waitForFinished(kMostWaitMs))
        killNow();
    take();
    return m_process.exitStatus() == QProcess::NormalExit ? m_process.exitCode() : -1;
}

void Worker::take()
{
    m_rest += m_process.readAllStandardOutput();
    for (qsizetype end = m_rest.indexOf('\n'); end >= 0; end = m_rest.indexOf('\n')) {
        const std::string line = m_rest.left(end).toStdString();
        m_rest.remove(0, end + 1);
        if (line == "ready")
            m_ready = true;
        else
            m_acknowledged.push_back(line);
    }
}

} // namespace mk::faults
