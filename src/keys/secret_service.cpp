// SPDX-License-Identifier: GPL-3.0-or-later
#include "keys/secret_service.h"

#include <QEventLoop>
#include <QTimer>

#include <qt6keychain/keychain.h>

#include <chrono>
#include <memory>

namespace mk::keys {

namespace {

constexpr std::chrono::seconds kPatience { 60 }; // the service may ask the person to unlock it
const QString kService = QStringLiteral("meterkeep");

/// Starts the job and answers once: when it ends, or when patience does.
template <typename Answer>
void start(QKeychain::Job* job, Answer answer)
{
    auto answered = std::make_shared<bool>(false);
    const auto once = [answered, answer](QKeychain::Job* ended) {
        if (std::exchange(*answered, true))
            return;
        answer(ended);
    };
    QObject::connect(job, &QKeychain::Job::finished, job, once);
    QTimer::singleShot(kPatience, job, [once] { once(nullptr); });
    job->start();
}

} // namespace

void secretOf(const QString& name, std::function<void(std::optional<std::string>)> answer)
{
    auto* job = new QKeychain::ReadPasswordJob(kService);
    job->setKey(name);
    start(job, [answer = std::move(answer)](QKeychain::Job* ended) {
        const auto* read = qobject_cast<QKeychain::ReadPasswordJob*>(ended);
        const bool found = read != nullptr && read->error() == QKeychain::NoError && !read->binaryData().isEmpty();
        answer(found ? std::optional(read->binaryData().toStdString()) : std::nullopt);
    });
}

void keepSecret(const QString& name, const std::string& secret, std::function<void(bool)> answer)
{
    auto* job = new QKeychain::WritePasswordJob(kService);
    job->setInsecureFallback(false);
    job->setKey(name);
    job->setBinaryData(QByteArray::fromStdString(secret));
    start(job, [answer = std::move(answer)](QKeychain::Job* ended) { answer(ended != nullptr && ended->error() == QKeychain::NoError); });
}

std::optional<std::string> secretNow(const QString& name)
{
    QEventLoop loop;
    bool answered = false; // perhaps before the loop runs
    std::optional<std::string> found;
    secretOf(name, [&](std::optional<std::string> secret) {
        found = std::move(secret);
        answered = true;
        loop.quit();
    });
    if (!answered)
        loop.exec();
    return found;
}

bool keepSecretNow(const QString& name, const std::string& secret)
{
    QEventLoop loop;
    bool answered = false;
    bool kept = false;
    keepSecret(name, secret, [&](bool done) {
        kept = done;
        answered = true;
        loop.quit();
    });
    if (!answered)
        loop.exec();
    return kept;
}

QString passwordName(const store::Address& address)
{
    std::string name = "password of " + address.user + "@" + address.host + ":" + std::to_string(address.port) + "/" + address.database;
    for (const auto& [key, value] : address.parameters)
        if (key == "service")
            name += " service " + value;
    return QString::fromStdString(name);
}

} // namespace mk::keys
