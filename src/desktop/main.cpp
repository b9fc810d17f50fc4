// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/version.h"
#include "desktop/pages/desk_secrets.h"
#include "desktop/look/look.h"
#include "desktop/window/main_window.h"
#include "desktop/window/pictures.h"
#include "words/faults.h"
#include "words/language.h"

#include <QApplication>
#include <QCommandLineParser>
#include <QDir>
#include <QStandardPaths>

#include <cstdio>

namespace {

using namespace mk;
using namespace mk::desktop;

constexpr int kBadUsage = 2;
const QString kRegistry = QStringLiteral("registry"), kWard = QStringLiteral("ward"), kAt = QStringLiteral("at"),
              kPerson = QStringLiteral("operator"), kTheme = QStringLiteral("theme"), kLanguage = QStringLiteral("language"),
              kPictures = QStringLiteral("pictures"), kVersion = QStringLiteral("version");

struct Texts {
    Q_DECLARE_TR_FUNCTIONS(Main)
};

int complain(const QString& text)
{
    std::fputs((QStringLiteral("meterkeep: ") + text + QChar(u'\n')).toLocal8Bit().constData(), stderr);
    return kBadUsage;
}

QStringList typedWords(int argc, char* argv[])
{
    QStringList words;
    for (int i = 0; i < argc; ++i)
        words << QString::fromLocal8Bit(argv[i]);
    return words;
}

QString defaultRegistry()
{
    return QStandardPaths::writableLocation(QStandardPaths::GenericDataLocation)
        + QStringLiteral("/meterkeep/registry.mkr"); // as the command line does
}

/// Every option, described in the language that is spoken by then.
void describe(QCommandLineParser& parser)
{
    parser.setApplicationDescription(Texts::tr("Quality-control registry for a ward's shared blood-glucose meters."));
    parser.addHelpOption();
    parser.addOption(
        { kRegistry, Texts::tr("The registry file; %1 if left out.").arg(defaultRegistry()), QStringLiteral("PATH"), defaultRegistry() });
    parser.addOption({ kWard, Texts::tr("The ward to show first."), QStringLiteral("WARD") });
    parser.addOption({ kAt, Texts::tr("Show this moment and write nothing."), QStringLiteral("MOMENT") });
    parser.addOption({ kPerson, Texts::tr("Who works here, by id."), QStringLiteral("ID") });
    parser.addOption({ kTheme, Texts::tr("light or dark."), QStringLiteral("THEME"), QStringLiteral("light") });
    parser.addOption({ kLanguage, Texts::tr("The language, such as en; the session's if left out."), QStringLiteral("LANGUAGE") });
    parser.addOption({ kPictures, Texts::tr("Save a picture of every screen into this folder and quit."), QStringLiteral("FOLDER") });
    parser.addOption({ kVersion, Texts::tr("Print the version and quit.") });
}

/// A moment as it is typed; without an offset it is meant in the registry's zone.
base::Result<base::Moment> momentTyped(const QString& typed, const std::string& registry)
{
    const auto read = base::parseTimeText(typed.toStdString());
    if (!read)
        return read.error();
    if (read->hasOffset)
        return base::momentOf(read->wall, read->offsetMinutes);
    auto session = store::Session::open(registry, store::Session::Access::ReadOnly); // a server that asks for a password asks later
    if (!session)
        return session.error();
    const auto reader = store::Reader::open(**session);
    if (!reader)
        return reader.error();
    return reader->zone().resolve(read->wall).first;
}

} // namespace

int main(int argc, char* argv[])
{
    // Asked before there is an application: the version and the pictures need no screen. And before the language is chosen, so that what
    // is asked again below can speak it.
    QCommandLineParser names;
    describe(names);
    names.parse(typedWords(argc, argv));
    if (names.isSet(kVersion)) {
        std::printf("%s\n", base::programName().c_str());
        return 0;
    }
    if (names.isSet(kPictures) && qEnvironmentVariableIsEmpty("QT_QPA_PLATFORM"))
        qputenv("QT_QPA_PLATFORM", "offscreen");
    QApplication application(argc, argv);
    QApplication::setApplicationName(QStringLiteral("meterkeep"));
    if (const base::Done spoken = words::speak(names.value(kLanguage)); !spoken)
        return complain(words::said(spoken.error()));
    QCommandLineParser parser;
    describe(parser);
    parser.process(application);
    if (!parser.positionalArguments().isEmpty())
        return complain(Texts::tr("'%1' is not an option; see --help.").arg(parser.positionalArguments().first()));

    WindowOptions options;
    options.desk.path = parser.value(kRegistry).toStdString();
    options.desk.station = QSysInfo::machineHostName().toStdString();
    if (parser.isSet(kWard))
        options.ward = base::WardId(parser.value(kWard).toStdString());
    if (parser.isSet(kPerson))
        options.person = base::OperatorId(parser.value(kPerson).toStdString());
    if (parser.value(kTheme) == QStringLiteral("dark"))
        options.theme = Theme::Dark;
    else if (parser.value(kTheme) != QStringLiteral("light"))
        return complain(Texts::tr("--theme takes light or dark, not '%1'.").arg(parser.value(kTheme)));
    if (parser.isSet(kAt)) {
        const auto moment = momentTyped(parser.value(kAt), options.desk.path);
        if (!moment)
            return complain(words::said(moment.error()));
        options.desk.past = *moment;
    }
    if (parser.isSet(kPictures)) {
        const QString problem = takePictures(application, options, parser.value(kPictures));
        return problem.isEmpty() ? 0 : complain(problem);
    }
    dress(application, options.theme);
    DeskSecrets secrets;
    options.desk.password = secrets.passwordSource();
    options.desk.queueFolder = (QStandardPaths::writableLocation(QStandardPaths::GenericDataLocation) + QStringLiteral("/meterkeep"))
                                   .toStdString();
    options.desk.queueKeys = secrets.queueKeys(
        QStandardPaths::writableLocation(QStandardPaths::GenericConfigLocation) + QStringLiteral("/meterkeep"));
    MainWindow window(options);
    window.resize(u(1280 / 7.0), u(720 / 7.0));
    window.QWidget::show();
    return QApplication::exec();
}
