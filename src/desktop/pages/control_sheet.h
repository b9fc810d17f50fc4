// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"
#include "desktop/parts/page.h"
#include "registry/control/questions.h"

#include <memory>
#include <vector>

namespace Ui {
class ControlSheetForm;
}

namespace mk::desktop {

class CellView;
class LevelPanel;
class RegistryDesk;
class SideTitle;
class ToneLabel;

/// One control of one meter: vials, results, and what is asked before they are saved. Makes acts and knows no store.
class ControlSheet final : public Page {
    Q_OBJECT

public:
    explicit ControlSheet(RegistryDesk& desk, QWidget* parent = nullptr);
    ~ControlSheet() override;

    /// A new set on a meter, by that person.
    void begin(const base::MeterId& meter, const base::OperatorId& person);
    /// Another attempt of the levels that did not hold, in the same set.
    void beginRepeat(const RecordAnswer& failed, const base::OperatorId& person);
    void setAnswer(const SheetAnswer& answer);
    /// The registry refused: its reason stands beside the buttons, and what was typed stays.
    void sayProblem(const QString& text);

    /// Asks again for vials, ranges and people; what was typed stays.
    void lookAgain() { askContext(std::nullopt); }
    const base::MeterId& meter() const { return m_meter; }
    /// True where a result was typed that is not on record yet.
    bool holdsResults() const;
    /// True where anything was typed that is not on record, whole or not.
    bool holdsTyping() const;
    /// Records what was typed and ends; a result that was typed is never thrown away (handbook, story S14).
    void leave();
    /// Sent, and neither on record nor refused yet: nobody leaves the sheet meanwhile.
    bool isSaving() const { return m_saving; }
    /// Its person has gone: records what they had committed, with its own times. What is half typed waits.
    void saveCommitted();
    /// What was sent is on record and is not sent again.
    void settle();
    /// Of a person who did not come back.
    void drop() { clear(); }
    LevelPanel* panel(registry::Level level) const;

    BandText band() const override;
    QList<KeyHint> keys() const override;
    QString note() const override;
    QWidget* firstFocus() const override;
    bool goBack() override;

signals:
    /// leaving  the person is on the way out: no verdict is waited for
    void saveAsked(const std::vector<mk::store::NewAct>& acts, bool leaving);
    void incidentAsked(const QString& meter);

private:
    /// What was typed for a level, beside what its panel shows.
    struct Entry {
        registry::Level level {};
        LevelPanel* panel = nullptr;
        base::GlucoseUnit unit = base::GlucoseUnit::MgPerDl;
        std::optional<base::Moment> at;                 ///< of the last key of the result
        std::string question, answer;                   ///< what was asked before it was saved, and what was answered
        std::optional<registry::RunQuestion> asking {}; ///< that stands on the panel
        bool levelAsked = false, unitAsked = false;
        bool committed = false; ///< entered, or moved on from: meant as it stands
        bool sent = false;      ///< with what is being saved
        bool judged = false;    ///< what it means was shown
        bool needsVial = false; ///< the result came from another level: its vial must be scanned
    };

    void layOut();
    void clear();
    void makePanels();
    void fillSide();
    void fillStrip();
    void sayStrip();
    void askContext(std::optional<registry::Level> vialOf);
    Entry* entryOf(registry::Level level);
    const SheetLevel* contextOf(registry::Level level) const;
    void onCommitted(registry::Level level);
    void onTouched(registry::Level level);
    void onLeft(registry::Level level);
    void onScanned(registry::Level level);
    void onAnswered(registry::Level level, bool first);
    void takeAsOtherLevel(Entry& entry, registry::Level otherLevel);
    bool askIfDoubtful(Entry& entry);
    void judge(Entry& entry);
    std::optional<registry::acts::ControlRun> runOf(const Entry& entry) const;
    void goOn();
    void save();
    void send(bool committedAlone, bool leaving);
    std::vector<store::NewAct> acts(std::vector<registry::acts::ControlRun> runs) const;
    base::GlucoseUnit unitOfModel() const;
    void refreshButtons();
    bool isAsking() const;
    bool isComplete() const;

    RegistryDesk& m_desk;
    std::unique_ptr<Ui::ControlSheetForm> m_form;
    base::MeterId m_meter;
    base::OperatorId m_person;
    base::SetId m_set;
    int m_attempt = 1;
    std::vector<registry::RunRecord> m_saved; ///< of the same set, from earlier attempts
    std::optional<SheetAnswer> m_answer;
    std::vector<Entry> m_entries;
    std::vector<registry::acts::ControlRun> m_moved; ///< results that turned out to be another level's
    bool m_saving = false;
    bool m_vialAwaited = false; ///< a vial was scanned that a moved result waited for
    CellView* m_before = nullptr;
    SideTitle* m_whyTitle = nullptr;
    ToneLabel* m_why = nullptr;
};

} // namespace mk::desktop
