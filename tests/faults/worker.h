// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QProcess>
#include <QStringList>

#include <memory>
#include <string>
#include <vector>

/// The test program itself as a second workstation: `faults_tests --worker REGISTRY METER PREFIX COUNT FIRST STEP`.
namespace mk::faults {

/// What one worker does: COUNT sets (0: until it is ended) named PREFIX-0, PREFIX-1 …, the i-th FIRST + i * STEP seconds after
/// the first of March 2020. Its entry ids are made of the set's name, so that two workers with one prefix deliver the same entries twice.
struct Work {
    std::string registry;
    std::string meter;
    std::string prefix;
    int count = 0;
    int first = 0;
    int step = 1;
};

/// The worker's main(): says `ready`, waits for one line on standard input, records, and prints each set's name once record() returned.
/// returns 0, or 1 with the fault on standard error
int workerMain(const QStringList& arguments);

/// A worker process under the test's hand. Ended, by its process id, at the latest with this object.
class Worker {
public:
    explicit Worker(const Work& work);
    ~Worker();

    /// returns  false where it does not come up
    bool waitUntilReady();
    void letGo();
    /// Takes in acknowledgements for at most that long. returns  false once the process has ended
    bool listen(int mostMs);
    /// SIGKILL, and what it had said until then.
    void killNow();
    /// Waits for its own end. returns  its exit status, or -1
    int finish();

    /// Sets whose record() had returned, in that order.
    const std::vector<std::string>& acknowledged() const { return m_acknowledged; }
    std::string complaint() { return m_process.readAllStandardError().toStdString(); }

private:
    void take();

    QProcess m_process;
    QByteArray m_rest; ///< of a line that has not come in whole
    bool m_ready = false;
    std::vector<std::string> m_acknowledged;
};

} // namespace mk::faults
