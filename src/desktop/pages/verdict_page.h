// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"
#include "desktop/parts/page.h"

class QPushButton;

namespace mk::desktop {

class Ladder;
class RangeBar;
class ShapeMark;
class SideTitle;
class ToneLabel;
class VerdictFrame;

/// What came of a control or a report: the verdict at arm's length, the one next step, and what is stored.
class VerdictPage final : public Page {
    Q_OBJECT

public:
    explicit VerdictPage(QWidget* parent = nullptr);

    /// author  as the header names the person
    void setOutcome(const RecordAnswer& answer, const QString& author);
    const std::optional<RecordAnswer>& outcome() const { return m_answer; }

    /// The one thing to do now. On the ladder it is the registry's step, and only what the registry will take.
    enum class Next { Done, Repeat, Complete, NewControlVial, NewStripVial, Withdraw, LookAfter };
    Next nextStep() const;
    /// The step of the ladder that is shown; 0 where none is.
    int ladderStep() const;
    /// What a withdrawal from here rests on: the ladder while it is climbed, else the first reason that advises it.
    registry::ReasonCode withdrawalReason() const;

    BandText band() const override;
    QList<KeyHint> keys() const override;
    QString note() const override;
    QWidget* firstFocus() const override;

signals:
    void repeatAsked();
    void withdrawAsked(const QString& meter, mk::registry::ReasonCode reason);

protected:
    bool eventFilter(QObject* watched, QEvent* event) override;

private:
    void layOut();
    void makeMain();
    void makeFoot();
    void fillKept();
    void fillVerdict();
    void fillNext();
    void fillOthers();
    void fillStored();
    void fillLadderStep(Next next);
    bool mayWithdraw() const;
    void askWithdrawal();
    const registry::RunRecord* failedRun() const;

    std::optional<RecordAnswer> m_answer;
    QString m_author;
    VerdictFrame* m_frame;
    ShapeMark* m_mark;
    ToneLabel* m_verdict;
    ToneLabel* m_because;
    ToneLabel* m_more;
    RangeBar* m_bar;
    ToneLabel* m_nextCaption;
    ToneLabel* m_next;
    ToneLabel* m_nextDetail;
    ToneLabel* m_nextNote;
    QPushButton* m_go;
    QPushButton* m_leave;
    QPushButton* m_withdraw;
    QWidget* m_ladderBox;
    Ladder* m_ladder;
    QWidget* m_others;
    ToneLabel* m_earlier;
    SideTitle* m_othersTitle;
    SideTitle* m_earlierTitle;
    ToneLabel* m_stored;
};

} // namespace mk::desktop
