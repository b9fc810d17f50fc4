// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/window/main_window.h"

#include "desktop/pages/control_sheet.h"
#include "desktop/pages/delivery_page.h"
#include "desktop/pages/empty_page.h"
#include "desktop/parts/frame_parts.h"
#include "desktop/pages/incident_sheet.h"
#include "desktop/pages/meter_page.h"
#include "desktop/pages/sign_in_dialog.h"
#include "desktop/parts/stale_board.h"
#include "desktop/pages/verdict_page.h"
#include "desktop/pages/wall_screen.h"
#include "desktop/pages/ward_page.h"
#include "words/faults.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <QApplication>
#include <QCloseEvent>
#include <QKeyEvent>
#include <QMenu>
#include <QPainter>
#include <QShortcut>
#include <QStackedWidget>
#include <QVBoxLayout>

#include <algorithm>
#include <chrono>

namespace mk::desktop {

namespace {

/// Fitness changes by itself as time goes on.
constexpr std::chrono::seconds kLookAgainEvery { 30 };
constexpr std::chrono::seconds kLookForInputEvery { 1 };

} // namespace

MainWindow::MainWindow(WindowOptions options)
    : m_options(std::move(options)),
      m_desk(m_options.desk),
      m_header(new HeaderBar(this)),
      m_band(new AnswerBand(this)),
      m_stack(new QStackedWidget(this)),
      m_keys(new KeyLine(this)),
      m_whole(new QStackedWidget(this)),
      m_wardPage(new WardPage(m_desk.mayWrite())),
      m_meterPage(new MeterPage(m_desk.mayWrite())),
      m_controlSheet(new ControlSheet(m_desk)),
      m_incidentSheet(new IncidentSheet),
      m_verdictPage(new VerdictPage),
      m_emptyPage(new EmptyPage),
      m_deliveryPage(new DeliveryPage),
      m_wall(new WallScreen(this)),
      m_signIn(new SignInDialog(this)),
      m_serverStrip(new ServerStrip(this)),
      m_input(m_options.idleClock)
{
    setWindowTitle(tr("Meterkeep"));
    m_wardChosen = m_options.ward.has_value();
    layOut();
    connectPages();
    connectDesk();
    connectServer();
    makeKeys();
    refreshHeader();
    show(m_wardPage);
    m_desk.askBoard(m_options.ward);
    if (m_desk.mayWrite()) {
        m_minute.start(kLookAgainEvery);
        m_second.start(kLookForInputEvery);
    }
}

MainWindow::~MainWindow() = default;

void MainWindow::layOut()
{
    auto* frame = new QWidget(this);
    auto* layout = new QVBoxLayout(frame);
    layout->setContentsMargins(0, 0, 0, 0);
    layout->setSpacing(0);
    layout->addWidget(m_header);
    layout->addWidget(m_band);
    layout->addWidget(m_stack, 1);
    m_header->setNotice(m_serverStrip);
    layout->addWidget(m_keys);
    for (Page* page : std::initializer_list<Page*> {
             m_wardPage, m_meterPage, m_controlSheet, m_incidentSheet, m_verdictPage, m_emptyPage, m_deliveryPage })
        addPage(page);
    m_whole->addWidget(frame);
    m_whole->addWidget(m_wall);
    setCentralWidget(m_whole);
    m_header->scanField()->installEventFilter(this);
    if (m_desk.options().past) {
        m_header->setPast({}, m_options.theme);
        new PastFrame(m_whole);
    }
}

void MainWindow::addPage(Page* page)
{
    m_stack->addWidget(page);
    connect(page, &Page::changed, this, &MainWindow::refreshFrame);
    connect(page, &Page::finished, this, &MainWindow::openWard);
}

void MainWindow::connectPages()
{
    connect(m_wardPage, &WardPage::meterOpened, this, &MainWindow::openMeter);
    connect(m_wardPage, &WardPage::controlAsked, this, &MainWindow::openControl);
    connect(m_wardPage, &WardPage::incidentAsked, this, &MainWindow::openIncident);
    connect(m_wardPage, &WardPage::notInUseAsked, this, &MainWindow::declareNotInUse);
    connect(m_meterPage, &MeterPage::controlAsked, this, &MainWindow::openControl);
    connect(m_meterPage, &MeterPage::incidentAsked, this, &MainWindow::openIncident);
    connect(m_controlSheet, &ControlSheet::incidentAsked, this, &MainWindow::openIncident);
    connect(m_controlSheet, &ControlSheet::saveAsked, this, [this](const std::vector<store::NewAct>& acts, bool leaving) {
        record(leaving ? Purpose::LeaveSheet : Purpose::Control, m_controlSheet->meter(), acts);
    });
    connect(m_incidentSheet, &IncidentSheet::saveAsked, this,
        [this](const store::NewAct& act) { record(Purpose::Incident, m_incidentSheet->meter(), { act }); });
    connect(m_verdictPage, &VerdictPage::repeatAsked, this, [this] {
        if (needsPerson())
            return;
        const RecordAnswer failed = *m_verdictPage->outcome();
        m_controlSheet->beginRepeat(failed, *m_options.person);
        show(m_controlSheet);
    });
    connect(m_verdictPage, &VerdictPage::withdrawAsked, this, &MainWindow::withdraw);
    connect(m_emptyPage, &EmptyPage::retried, this, [this] {
        if (m_desk.isLost())
            m_desk.tryAgain();
        else
            m_desk.askBoard(m_options.ward);
    });
    connect(m_wall, &WallScreen::left, this, [this] {
        m_whole->setCurrentIndex(0);
        show(m_wardPage);
    });
}

void MainWindow::connectDesk()
{
    connect(&m_desk, &RegistryDesk::boardAnswered, this, [this](quint64, const base::Result<BoardAnswer>& answer) { onBoard(answer); });
    connect(&m_desk, &RegistryDesk::sheetAnswered, this, [this](quint64, const base::Result<SheetAnswer>& answer) {
        if (answer)
            m_controlSheet->setAnswer(*answer);
        else
            m_controlSheet->sayProblem(words::sentence(answer.error()));
    });
    connect(&m_desk, &RegistryDesk::meterAnswered, this, [this](quint64, const base::Result<MeterAnswer>& answer) {
        if (answer) {
            m_meterKnown = *answer;
            m_meterPage->setAnswer(*answer);
        } else if (m_desk.isLost()) {
            showStale();
            if (!m_meterKnown)
                m_meterPage->sayProblem(tr("The file of %1 cannot be read while the server is away.").arg(m_meterPage->meter()));
        } else
            m_meterPage->sayProblem(words::sentence(answer.error()));
    });
    connect(&m_desk, &RegistryDesk::recorded, this, &MainWindow::onRecorded);
    connect(&m_desk, &RegistryDesk::signInAnswered, this, [this](quint64, const SignInAnswer& answer) { onSignIn(answer); });
    connect(m_signIn, &SignInDialog::offered, this, &MainWindow::offerSignIn);
    connect(m_signIn, &SignInDialog::replaced, this,
        [this] { m_desk.replaceSecret(m_signIn->person(), m_signIn->present(), m_signIn->next(), m_options.ward); });
    connect(m_signIn, &SignInDialog::rejected, this, [this] { m_lookingOnly = true; });
    const auto lookAgain = [this] {
        if (m_desk.isLost()) {
            showStale();
            return;
        }
        m_desk.askBoard(m_options.ward);
        if (page() == m_meterPage)
            m_desk.askMeter(base::MeterId(m_meterPage->meter().toStdString()));
    };
    connect(&m_desk, &RegistryDesk::changedElsewhere, this, lookAgain);
    connect(&m_minute, &QTimer::timeout, this, lookAgain);
    connect(&m_second, &QTimer::timeout, this, &MainWindow::lookForInput);
}

void MainWindow::makeKeys()
{
    const auto key = [this](const QKeySequence& sequence, auto&& act) {
        connect(new QShortcut(sequence, this), &QShortcut::activated, this, act);
    };
    key(QKeySequence(Qt::Key_F6), [this] {
        m_header->scanField()->setFocus();
        m_header->scanField()->selectAll();
    });
    key(QKeySequence(Qt::Key_F11), [this] { openWall(); });
    key(QKeySequence(Qt::Key_F12), [this] { choosePerson(); });
    key(QKeySequence(Qt::Key_Escape), [this] { goBack(); });
    connect(m_header->scanField(), &QLineEdit::returnPressed, this, [this] { scan(m_header->scanField()->text()); });
}

Page* MainWindow::page() const
{
    return qobject_cast<Page*>(m_stack->currentWidget());
}

void MainWindow::show(Page* page)
{
    m_stack->setCurrentWidget(page);
    refreshFrame();
    if (QWidget* focus = page->firstFocus())
        focus->setFocus(Qt::OtherFocusReason);
    else if (m_desk.options().past)
        m_wardPage->board()->setFocus(Qt::OtherFocusReason);
    else
        m_header->scanField()->setFocus(Qt::OtherFocusReason);
}

void MainWindow::refreshFrame()
{
    Page* current = page();
    if (current == nullptr)
        return;
    m_band->show(current->band(), current->bandActions());
    m_keys->show(current->keys(), m_warning.isEmpty() ? current->note() : m_warning);
}

QString MainWindow::personText() const
{
    if (mustSignIn())
        return tr("Nobody is signed in");
    if (!m_options.person)
        return tr("Choose who you are");
    if (m_board)
        for (const auto& person : m_board->people)
            if (person.id == *m_options.person)
                //: a person's name and role: D. Arlen, nurse
                return tr("%1, %2").arg(words::text(person.name.value_or(person.id.value)), words::role(person.role));
    return words::text(m_options.person->value);
}

bool MainWindow::isCoordinator() const
{
    if (!m_board || !m_options.person || mustSignIn() || !m_desk.mayWrite())
        return false;
    return std::ranges::any_of(m_board->people, [this](const registry::acts::OperatorEnrolled& person) {
        return person.id == *m_options.person && person.role == registry::Role::Coordinator;
    });
}

QString MainWindow::wardText() const
{
    if (!m_options.ward)
        return tr("All wards");
    if (m_board)
        for (const auto& ward : m_board->wards)
            if (ward.ward == *m_options.ward && ward.name)
                return tr("%1, %2").arg(words::text(ward.ward.value), words::text(*ward.name));
    return words::text(m_options.ward->value);
}

void MainWindow::refreshHeader()
{
    m_header->setPerson(m_desk.mayWrite() ? personText() : tr("Looking only; nothing is written"));
    m_header->setWard(wardText());
    m_wardPage->setCoordinator(isCoordinator());
    if (!m_board)
        return;
    m_header->setMoment(words::full(m_board->at, m_board->zone));
    if (m_desk.options().past)
        m_header->setPast(tr("As it stood on %1").arg(words::full(m_board->at, m_board->zone)), m_options.theme);
}

void MainWindow::fillMenus()
{
    const auto menuOf = [this](QToolButton* button) {
        if (button->menu() == nullptr)
            button->setMenu(new QMenu(this));
        button->menu()->clear();
        return button->menu();
    };
    if (m_desk.mayWrite()) {
        QMenu* people = menuOf(m_header->personButton());
        for (const auto& person : m_board->people)
            people->addAction(tr("%1, %2").arg(words::text(person.name.value_or(person.id.value)), words::role(person.role)), this,
                [this, id = person.id] { setPerson(id); });
        if (m_board->people.empty())
            people->addAction(tr("Nobody is on record yet. People come with operators.csv."))->setEnabled(false);
    }
    QMenu* wards = menuOf(m_header->wardButton());
    for (const auto& ward : m_board->wards)
        wards->addAction(ward.name ? tr("%1, %2").arg(words::text(ward.ward.value), words::text(*ward.name)) : words::text(ward.ward.value),
            this, [this, id = ward.ward] { setWard(id); });
    wards->addAction(tr("All wards"), this, [this] { setWard(std::nullopt); });
}

void MainWindow::onBoard(const base::Result<BoardAnswer>& answer)
{
    if (!answer && m_desk.isLost() && answer.error().kind != base::FaultKind::NotFound)
        return; // the loss itself was shown
    if (!answer) {
        if (answer.error().kind == base::FaultKind::NotFound)
            m_emptyPage->sayMissing(words::text(m_desk.options().path));
        else
            m_emptyPage->sayProblem(words::sentence(answer.error()));
        if (page() == m_wardPage || page() == m_emptyPage)
            show(m_emptyPage);
        return;
    }
    const bool peopleOrWardsDiffer = !m_board || m_board->people.size() != answer->people.size()
        || m_board->wards.size() != answer->wards.size();
    m_board = *answer;
    if (peopleOrWardsDiffer)
        fillMenus();
    if (!m_wardChosen && !m_board->wards.empty()) {
        setWard(m_board->wards.front().ward);
        return;
    }
    if (mustSignIn() && !m_lookingOnly)
        askSignIn(m_options.person);
    m_wardPage->setAnswer(*m_board);
    m_wall->setAnswer(*m_board, wardText());
    refreshHeader();
    if (page() == m_emptyPage)
        show(m_wardPage);
}

void MainWindow::setPerson(const base::OperatorId& person)
{
    if (m_board && m_board->signInSetUp && !(m_signedIn && m_options.person == person)) {
        askSignIn(person); // a name from the list is no proof
        return;
    }
    m_options.person = person;
    m_wardPage->say({});
    refreshHeader();
    refreshFrame();
}

void MainWindow::setWard(const std::optional<base::WardId>& ward)
{
    m_wardChosen = true;
    m_options.ward = ward;
    refreshHeader();
    m_desk.askBoard(ward);
}

void MainWindow::choosePerson()
{
    // Not showMenu(): that one would wait for the menu to close.
    QToolButton* button = m_header->personButton();
    if (m_desk.mayWrite() && button->menu() != nullptr)
        button->menu()->popup(button->mapToGlobal(QPoint(0, button->height())));
}

bool MainWindow::needsPerson()
{
    if (mustSignIn()) {
        askSignIn(m_options.person);
        return true;
    }
    if (m_options.person)
        return false;
    m_wardPage->say(tr("Choose who you are, then press the key again."));
    choosePerson();
    return true;
}

void MainWindow::openWard()
{
    m_desk.askBoard(m_options.ward);
    show(m_wardPage);
}

void MainWindow::openWall()
{
    if (!m_board)
        return;
    m_whole->setCurrentWidget(m_wall);
    m_wall->setFocus();
}

void MainWindow::openMeter(const QString& meter)
{
    if (meter.isEmpty())
        return;
    m_meterKnown.reset();
    m_meterPage->begin(meter);
    m_desk.askMeter(base::MeterId(meter.toStdString()));
    show(m_meterPage);
}

void MainWindow::openControl(const QString& meter)
{
    if (meter.isEmpty() || !m_desk.mayWrite() || m_controlSheet->isSaving() || needsPerson())
        return;
    m_controlSheet->begin(base::MeterId(meter.toStdString()), *m_options.person);
    show(m_controlSheet);
}

void MainWindow::openIncident(const QString& meter)
{
    const bool saving = page() == m_controlSheet && m_controlSheet->isSaving();
    if (meter.isEmpty() || !m_desk.mayWrite() || !m_board || saving || needsPerson())
        return;
    if (page() == m_controlSheet && m_controlSheet->holdsResults())
        m_controlSheet->leave(); // what was typed goes on record first
    m_incidentSheet->begin(base::MeterId(meter.toStdString()), *m_options.person, m_desk.now(m_board->zone), m_board->zone);
    show(m_incidentSheet);
}

} // namespace mk::desktop
