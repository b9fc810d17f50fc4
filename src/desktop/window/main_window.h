// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"
#include "desktop/parts/input_watch.h"
#include "desktop/parts/page.h"
#include "desktop/desk/registry_desk.h"

#include <QMainWindow>
#include <QTimer>

#include <map>
#include <set>

class QStackedWidget;

namespace mk::desktop {

class AnswerBand;
class ControlSheet;
class DeliveryPage;
class EmptyPage;
class HeaderBar;
class IncidentSheet;
class KeyLine;
class MeterPage;
class SignInDialog;
class ServerStrip;
class VerdictPage;
class WallScreen;
class WardPage;

struct WindowOptions {
    DeskOptions desk;
    std::optional<base::WardId> ward; ///< none: the first ward on record
    std::optional<base::OperatorId> person;
    Theme theme = Theme::Light;
    IdleClock idleClock = steadyMilliseconds; ///< tells how long nobody has touched anything
};

/// Arranges the pages between header, band and key line, and carries values between them and the registry.
class MainWindow final : public QMainWindow {
    Q_OBJECT

public:
    explicit MainWindow(WindowOptions options);
    ~MainWindow() override;

    WardPage* wardPage() const { return m_wardPage; }
    MeterPage* meterPage() const { return m_meterPage; }
    ControlSheet* controlSheet() const { return m_controlSheet; }
    IncidentSheet* incidentSheet() const { return m_incidentSheet; }
    VerdictPage* verdictPage() const { return m_verdictPage; }
    Page* page() const;
    DeliveryPage* deliveryPage() const { return m_deliveryPage; }
    ServerStrip* serverStrip() const { return m_serverStrip; }
    RegistryDesk& desk() { return m_desk; }
    SignInDialog* signInDialog() const { return m_signIn; }
    const std::optional<base::OperatorId>& person() const { return m_options.person; }

    void openMeter(const QString& meter);
    void openControl(const QString& meter);
    void openIncident(const QString& meter);
    void openWard();
    void openWall();
    void setPerson(const base::OperatorId& person);
    void setWard(const std::optional<base::WardId>& ward);
    /// What the person scanned or typed into the scan field.
    void scan(const QString& typed);
    /// Warns whoever is signed in and touches nothing, and signs them off in the end (main_window_sign_in.cpp).
    void lookForInput();

protected:
    void keyPressEvent(QKeyEvent* event) override;
    bool eventFilter(QObject* watched, QEvent* event) override;
    void closeEvent(QCloseEvent* event) override;

private:
    enum class Purpose { Control, LeaveSheet, Incident, NotInUse, Withdraw };

    void layOut();
    /// A page that the window need not know afterwards is made and added in one place, where its key is.
    void addPage(Page* page);
    void connectPages();
    void connectDesk();
    void makeKeys();
    void show(Page* page);
    void refreshFrame();
    void refreshHeader();
    void fillMenus();
    void onBoard(const base::Result<BoardAnswer>& answer);
    // main_window_server.cpp
    void connectServer();
    void onLost(const base::Fault& fault);
    void onBack(const ContactAnswer& answer);
    void showStale();
    void sayLost();
    void hideNotice();
    QString keptText(Purpose purpose, const base::Fault& fault, bool mayHaveArrived) const;
    void onRecorded(quint64 number, const RecordAnswer& answer);
    void onRefused(Purpose purpose, const RecordAnswer& answer);
    void showKept(const RecordAnswer& answer);
    void record(Purpose purpose, const base::MeterId& meter, std::vector<store::NewAct> acts);
    void withdraw(const QString& meter, registry::ReasonCode reason);
    void declareNotInUse(const QString& meter);
    /// True where nobody is chosen yet; opens the choice.
    bool needsPerson();
    void choosePerson();
    // main_window_sign_in.cpp
    bool isCoordinator() const;
    bool mustSignIn() const { return m_board && m_board->signInSetUp && !m_signedIn && m_desk.mayWrite(); }
    void askSignIn(const std::optional<base::OperatorId>& person);
    void onSignIn(const SignInAnswer& answer);
    void offerSignIn();
    void signOffIdle();
    void leaveSeat(const QString& said);
    void onRecordedAfter(const RecordAnswer& answer);
    QString takeUpAgain(const base::OperatorId& person);
    QString personText() const;
    QString nameOf(const base::OperatorId& person) const;
    QString wardText() const;
    void goBack();

    WindowOptions m_options;
    RegistryDesk m_desk;
    std::optional<BoardAnswer> m_board;
    std::map<quint64, Purpose> m_pending;
    bool m_closing = false;
    bool m_wardChosen = false;
    bool m_signedIn = false;
    bool m_lookingOnly = false; ///< asked to sign in, and went on without

    HeaderBar* m_header;
    AnswerBand* m_band;
    QStackedWidget* m_stack;
    KeyLine* m_keys;
    QStackedWidget* m_whole; ///< the framed window, or the wall screen
    WardPage* m_wardPage;
    MeterPage* m_meterPage;
    ControlSheet* m_controlSheet;
    IncidentSheet* m_incidentSheet;
    VerdictPage* m_verdictPage;
    EmptyPage* m_emptyPage;
    DeliveryPage* m_deliveryPage;
    WallScreen* m_wall;
    SignInDialog* m_signIn;
    ServerStrip* m_serverStrip;
    QAction* m_readWhy = nullptr;
    QTimer m_minute, m_second;
    InputWatch m_input;
    QString m_warning; ///< that the person is signed off soon
    /// A page with what somebody had begun when they were signed off: shown again to nobody else.
    struct PutAside {
        Page* page = nullptr;
        base::OperatorId person;
        QString meter;
        QString said;        ///< when they were signed off
        bool saving = false; ///< some of it was sent, and no answer is here yet
    };
    std::optional<PutAside> m_putAside;
    std::optional<base::Fault> m_lostBy;
    std::set<base::MeterId> m_waiting;       ///< meters of which something is kept here
    std::optional<MeterAnswer> m_meterKnown; ///< of the meter page, as it was read
};

} // namespace mk::desktop
