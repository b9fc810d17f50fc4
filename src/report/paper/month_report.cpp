// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/paper/month_report.h"

#include "report/scenes/chart_axis.h"
#include "report/drawing/control_chart.h"
#include "report/paper/lot_tables.h"
#include "report/paper/paper.h"
#include "registry/policy/retention.h"
#include "words/months.h"
#include "words/numbers.h"
#include "words/patterns.h"
#include "words/terms.h"
#include "words/policy.h"

#include <QCoreApplication>
#include <QPainter>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

namespace mk::report {

using namespace registry;

namespace {

constexpr double kChartHeight = 250;

struct ReportTexts {
    Q_DECLARE_TR_FUNCTIONS(MonthReport)
};

using words::text;

class MonthReport {
public:
    explicit MonthReport(const MonthReportInput& input) : m_in(input), m_paper(marginsOf(input)) { }

    base::Done write(const std::string& path)
    {
        const QString month = words::monthName(m_in.figures.month);
        headline();
        meterTables();
        charts();
        rejectedSets();
        happened();
        patterns();
        endBlock();
        appendix();
        return m_paper.write(text(path), { ReportTexts::tr("Monthly review, %1, %2").arg(month, text(m_in.wardName)), text(m_in.program) });
    }

private:
    static Paper::Margins marginsOf(const MonthReportInput& input)
    {
        QStringList units;
        for (const auto& group : input.figures.groups)
            units << words::unit(group.unit);
        units.removeDuplicates();
        QString notes = ReportTexts::tr("Circle: accepted. Square with bar: rejected. Ring: warned. Cross: invalid. Dashed: printed "
                                        "range.\nNothing is filtered out.");
        if (units.size() == 1)
            notes += QLatin1Char(' ') + ReportTexts::tr("All results in %1.").arg(units[0]);
        else if (units.size() > 1)
            notes += QLatin1Char(' ') + ReportTexts::tr("All results in %1 or %2.").arg(units[0], units[1]);
        return { ReportTexts::tr("Monthly review, %1").arg(words::monthName(input.figures.month)), text(input.wardName), notes,
            ReportTexts::tr("%1, rule set %2, policy %3\nprinted %4, by %5")
                .arg(text(input.program), QString::number(kRuleSet), QString::number(input.policy.version),
                    words::full(input.printedAt, input.zone), text(input.person)) };
    }

    void heading(const QString& text, double following)
    {
        m_paper.need(following + 40);
        m_paper.space(16);
        m_paper.text(text, m_paper.strong());
        m_paper.space(3);
    }

    void headline()
    {
        m_paper.text(words::monthHeadline(m_in.figures), m_paper.headline());
        m_paper.text(words::metersToWatchInWords(m_in.figures, m_in.policy), m_paper.headline());
        if (const QString notCleared = words::notClearedInWords(m_in.figures.totals.notCleared); !notCleared.isEmpty())
            m_paper.text(notCleared, m_paper.body());
        if (!m_in.figures.complete)
            m_paper.text(ReportTexts::tr("The month is not over: what lies after %1 is not counted.")
                             .arg(words::full(m_in.figures.cutOff, m_in.zone)),
                m_paper.body());
        m_paper.space(12);
        const MonthTotals& totals = m_in.figures.totals;
        const QString excused = totals.excusedAfterwards == 0 ? ReportTexts::tr("excused")
                                                              : ReportTexts::tr("excused, %1 afterwards").arg(totals.excusedAfterwards);
        m_paper.figures({ { QString::number(totals.late), ReportTexts::tr("late") },
            { QString::number(totals.missed), ReportTexts::tr("missed") }, { QString::number(totals.excused), excused },
            { QString::number(totals.rejectedSets),
                totals.rejectedSets == 1 ? ReportTexts::tr("rejected set") : ReportTexts::tr("rejected sets") },
            { QString::number(totals.invalidRuns),
                totals.invalidRuns == 1 ? ReportTexts::tr("invalid run") : ReportTexts::tr("invalid runs") },
            { words::plainText(totals.attemptsPerAcceptedSet(), 2), ReportTexts::tr("attempts per accepted set") } });
    }

    /// Meters to watch first, then by name.
    std::vector<const MeterMonth*> ordered() const
    {
        std::vector<const MeterMonth*> meters;
        for (const auto& meter : m_in.figures.meters)
            meters.push_back(&meter);
        std::ranges::stable_partition(meters, [&](const MeterMonth* m) { return isToWatch(*m, m_in.policy); });
        return meters;
    }

    void meterTables()
    {
        const auto tables = lotTables(m_in.figures);
        std::set<base::MeterId> told; // in-time figures stand once, in the table of the meter's newest lot
        for (const auto& table : tables)
            meterTable(table, told);
        QStringList silent;
        for (const auto& meter : m_in.figures.meters)
            if (meter.levels.empty())
                silent << ReportTexts::tr("%1 (%2 of %3 days in time)")
                              .arg(text(meter.meter.value), QString::number(meter.met), QString::number(meter.required()));
        if (!silent.isEmpty()) {
            m_paper.space(6);
            m_paper.text(ReportTexts::tr("No control this month: %1.").arg(silent.join(QStringLiteral(", "))), m_paper.small());
        }
        const Policy& policy = m_in.policy;
        m_paper.space(3);
        m_paper.text(
            ReportTexts::tr("SDI: meter mean against the mean and SD of the others' results on the same lots, all wards; it needs %1 "
                            "meters and %2 results of others. "
                            "Watch from SDI %3, act from %4. Repeats are included; invalid runs, HI, LO and error codes are not.")
                .arg(policy.groupMeters)
                .arg(policy.groupResults)
                .arg(policy.sdiCaution, 0, 'f', 1)
                .arg(policy.sdiAction, 0, 'f', 1),
            m_paper.small());
    }

    void meterTable(const LotTable& table, std::set<base::MeterId>& told)
    {
        std::vector<PaperColumn> columns { { ReportTexts::tr("Meter"), 52, false, {}, true },
            { ReportTexts::tr("n"), 38, true, {}, false } };
        for (const Level level : table.levels) {
            const QString above = ReportTexts::tr("%1 control, %2").arg(words::level(level), words::unit(table.unit));
            columns.insert(columns.end(),
                { { ReportTexts::tr("mean"), 48, true, {}, false }, { ReportTexts::tr("SD"), 42, true, {}, false },
                    { ReportTexts::tr("CV %"), 40, true, {}, false }, { ReportTexts::tr("SDI"), 40, true, above, false } });
        }
        std::vector<std::vector<QString>> rows;
        for (const auto* meter : ordered()) {
            if (!std::ranges::any_of(meter->levels, [&](const LevelFigures& f) { return isIn(table, f); }))
                continue;
            rows.push_back(meterRow(*meter, table, told.insert(meter->meter).second));
        }
        const bool monthHere = std::ranges::any_of(rows, [](const std::vector<QString>& row) { return !row[row.size() - 2].isEmpty(); });
        columns.push_back({ monthHere ? ReportTexts::tr("in time") : QString(), 62, true, {}, false });
        columns.push_back({ monthHere ? QStringLiteral("  ") + ReportTexts::tr("rules, errors") : QString(), 0, false, {}, false });
        QStringList lots;
        for (const auto& [level, lot] : table.controlLots)
            lots << text(lot.value);
        heading(ReportTexts::tr("Strip lot %1, control lots %2, %3 to %4: each meter against the group without it")
                    .arg(text(table.stripLot.value), lots.join(QStringLiteral(", ")), dayOf(table.firstAt), dayOf(table.lastAt)),
            100);
        m_paper.table(columns, rows);
        m_paper.text(groupLine(table), m_paper.small());
    }

    QString dayOf(base::Moment at) const { return words::dayOfMonth(m_in.zone.dateOf(at)); }

    std::vector<QString> meterRow(const MeterMonth& meter, const LotTable& table, bool withMonth) const
    {
        std::vector<QString> row { text(meter.meter.value), QString() };
        QStringList counts;
        for (const Level level : table.levels) {
            const LevelFigures* figures = figuresIn(meter, table, level);
            counts << QString::number(figures == nullptr ? 0 : figures->n);
            const LevelFigures none;
            const LevelFigures& f = figures == nullptr ? none : *figures;
            row.insert(row.end(),
                { words::meanText(f.mean, table.unit), words::sdText(f.sd, table.unit), words::plainText(f.cvPercent, 1),
                    words::signedText(f.sdi, 1) });
        }
        if (counts.count(counts.front()) == counts.size())
            counts = { counts.front() };
        row[1] = counts.join(QLatin1Char('/'));
        row.push_back(withMonth ? QStringLiteral("%1 / %2").arg(meter.met).arg(meter.required()) : QString());
        row.push_back(withMonth ? words::rulesInWords(meter, m_in.policy) : QString());
        if (!row.back().isEmpty())
            row.back().prepend(QStringLiteral("  "));
        return row;
    }

    QString groupLine(const LotTable& table) const
    {
        QStringList parts;
        std::size_t meters = 0;
        for (const auto& group : m_in.figures.groups) {
            const auto lot = table.controlLots.find(group.level);
            if (group.stripLot != table.stripLot || group.unit != table.unit || lot == table.controlLots.end()
                || lot->second != group.controlLot)
                continue;
            meters = std::max(meters, group.meters);
            parts << ReportTexts::tr("%1 %2 (SD %3; between the meters' means %4)")
                         .arg(words::level(group.level), words::meanText(group.mean, group.unit), words::sdText(group.sd, group.unit),
                             words::sdText(group.sdBetweenMeters, group.unit));
        }
        return ReportTexts::tr("Group: %1 meters, all wards; %2 %3.")
            .arg(QString::number(meters), parts.join(QStringLiteral(", ")), words::unit(table.unit));
    }

    void charts()
    {
        for (const auto& chart : m_in.charts) {
            ControlChartScene scene = chart;
            const auto meter = std::ranges::find(m_in.figures.meters, scene.meter, &MeterMonth::meter);
            if (meter != m_in.figures.meters.end())
                for (const auto& level : meter->levels)
                    if (const QString sdi = words::sdiInWords(level, m_in.policy); !sdi.isEmpty())
                        scene.title += "; " + sdi.toStdString();
            m_paper.need(kChartHeight + 14);
            m_paper.space(14);
            m_paper.picture(kChartHeight, [scene = std::move(scene)](QPainter& painter, const QRectF& into) {
                ControlChart::paint(scene, paperTheme(11), painter, into);
            });
        }
        const auto knowsUsual = [](const ControlChartScene& chart) {
            return std::ranges::any_of(chart.panels, [](const auto& panel) { return !panel.usual.empty(); });
        };
        if (std::ranges::any_of(m_in.charts, knowsUsual))
            m_paper.text(ReportTexts::tr("Dotted: the meter's usual value. Line beside it: the mean of its newest 7 controls. Grey "
                                         "ground: it was said to have moved."),
                m_paper.small());
    }

    void rejectedSets()
    {
        std::vector<std::vector<QString>> rows;
        std::vector<std::pair<base::Moment, words::RejectedLine>> lines;
        for (const auto& meter : m_in.figures.meters)
            for (const auto& rejected : meter.rejectedSets)
                lines.emplace_back(rejected.set.judged.firstAt, words::rejectedInWords(rejected, meter.meter, m_in.zone));
        std::ranges::stable_sort(lines, {}, &std::pair<base::Moment, words::RejectedLine>::first);
        for (const auto& [at, line] : lines)
            rows.push_back({ line.when, line.meter, line.level, line.result, QStringLiteral("  ") + line.rule, line.ending });
        heading(ReportTexts::tr("Every rejected set and error code, and how it ended"), 60);
        if (rows.empty()) {
            m_paper.text(ReportTexts::tr("There was none."), m_paper.body());
            return;
        }
        m_paper.table({ { ReportTexts::tr("Set"), 130, false, {}, false }, { ReportTexts::tr("Meter"), 54, false, {}, true },
                          { ReportTexts::tr("Level"), 62, false, {}, false }, { ReportTexts::tr("Result"), 60, true, {}, false },
                          { QStringLiteral("  ") + ReportTexts::tr("Rule"), 90, false, {}, false },
                          { ReportTexts::tr("What followed"), 0, false, {}, false } },
            rows);
    }

    /// Every kind of event, and of which there was none.
    void happened()
    {
        if (m_in.sections.empty())
            return;
        std::vector<std::vector<QString>> rows;
        for (const auto& section : m_in.sections) {
            rows.push_back({ section.head, section.lines.isEmpty() ? ReportTexts::tr("none") : section.lines.front() });
            for (qsizetype i = 1; i < section.lines.size(); ++i)
                rows.push_back({ QString(), section.lines[i] });
        }
        heading(ReportTexts::tr("What happened in the month"), 60);
        m_paper.table({ { ReportTexts::tr("Kind"), 130, false, {}, true }, { ReportTexts::tr("What"), 0, false, {}, false } }, rows);
    }

    void patterns()
    {
        if (m_in.patterns.empty())
            return;
        heading(ReportTexts::tr("For a human eye"), 60);
        m_paper.text(words::patternsNote(), m_paper.small());
        m_paper.space(3);
        for (const auto& pattern : m_in.patterns)
            m_paper.text(words::patternSaid(pattern), m_paper.body());
    }

    std::vector<std::pair<QString, QFont>> signatureLines() const
    {
        const QFont body = m_paper.body();
        if (m_in.signatures.empty())
            return { { ReportTexts::tr("Reviewed month"), m_paper.strong() }, { ReportTexts::tr("Name"), body },
                { ReportTexts::tr("Date and time"), body }, { ReportTexts::tr("Signature"), body },
                { ReportTexts::tr("Not signed in the registry when this was printed."), m_paper.small() } };
        const SignedReview& newest = m_in.signatures.back();
        const auto& act = newest.signature.act;
        std::vector<std::pair<QString, QFont>> lines { { text(act.meaning.value_or(std::string(kReviewedMonth))), m_paper.strong() },
            { text(newest.name + " (" + act.by.value + ")"), body },
            { QStringLiteral("%1 (%2)").arg(
                  words::full(newest.signedAt, m_in.zone), text(base::offsetText(m_in.zone.at(newest.signedAt.utcMs).offsetMinutes))),
                body },
            { ReportTexts::tr("Signed electronically in the registry, entry %1;\ncut-off entry %2, chain digest:")
                    .arg(words::entryNumber(newest.signature.seq), words::entryNumber(act.cutOff.value_or(base::Seq {}))),
                m_paper.small() } };
        if (act.remark)
            lines.insert(lines.begin() + 3, { text(*act.remark), body });
        const std::string head = act.head.value_or("");
        lines.push_back({ words::spacedDigest(head.substr(0, 32)), m_paper.code() });
        lines.push_back({ words::spacedDigest(head.size() > 32 ? head.substr(32) : std::string()), m_paper.code() });
        lines.push_back({ newest.asSigned ? ReportTexts::tr("The figures printed here are those that were signed.")
                                          : ReportTexts::tr("Data changed since review: this signature belongs to the earlier content."),
            newest.asSigned ? m_paper.small() : m_paper.strong() });
        if (m_in.signatures.size() > 1)
            lines.push_back(
                { ReportTexts::tr("%n earlier signatures stand in the registry.", nullptr, static_cast<int>(m_in.signatures.size()) - 1),
                    m_paper.small() });
        return lines;
    }

    /// What was recorded after the newest signature and concerns its month.
    void laterEntries()
    {
        if (m_in.signatures.empty() || m_in.signatures.back().later.empty())
            return;
        m_paper.space(8);
        m_paper.text(ReportTexts::tr("Recorded since the signature, about this month:"), m_paper.body());
        for (const auto& entry : m_in.signatures.back().later)
            m_paper.text(ReportTexts::tr("Entry %1, %2: %3 %4, by %5")
                             .arg(words::entryNumber(entry.seq), words::full(entry.recordedAt, m_in.zone), text(entry.act),
                                 text(entry.subject), text(entry.person)),
                m_paper.small());
    }

    void endBlock()
    {
        m_paper.need(170);
        m_paper.space(18);
        const QFont body = m_paper.body();
        m_paper.blocks(signatureLines(),
            { { ReportTexts::tr("Figures as they stood on %1 (%2), entry %3. Chain digest:")
                      .arg(words::full(m_in.figures.cutOff, m_in.zone),
                          text(base::offsetText(m_in.zone.at(m_in.figures.cutOff.utcMs).offsetMinutes)), words::entryNumber(m_in.entry)),
                  body },
                { words::spacedDigest(m_in.digest.substr(0, 32)), m_paper.code() },
                { words::spacedDigest(m_in.digest.size() > 32 ? m_in.digest.substr(32) : std::string()), m_paper.code() },
                { ReportTexts::tr("The digest shows whether records were altered since; it does not prove that what was typed was true."),
                    m_paper.small() } });
        laterEntries();
        m_paper.space(8);
        m_paper.text(words::monthKeptUntil(retentionEnds(lastDayOf(m_in.figures.month), m_in.policy)), m_paper.small());
        m_paper.text(
            ReportTexts::tr("The maker's instructions and local policy come first. This review says whether controls were in order; it "
                            "judges no patient's result and "
                            "advises no treatment. Whether a result touched a patient is for the responsible clinician to decide."),
            m_paper.small());
    }

    void appendix()
    {
        occasions();
        allFigures();
    }

    void occasions()
    {
        std::vector<std::vector<QString>> rows;
        for (const auto& meter : m_in.figures.meters) {
            std::map<Occasion, std::vector<base::Date>> days;
            std::int64_t latest = 0;
            for (const auto& day : meter.days) {
                days[day.what].push_back(day.day);
                latest = std::max(latest, day.lateMinutes);
            }
            const QString longest = latest == 0 ? QString()
                : latest < 60                   ? ReportTexts::tr("%1 min").arg(latest)
                                                : ReportTexts::tr("%1 h %2 min").arg(latest / 60).arg(latest % 60);
            QStringList excused { words::daysInWords(days[Occasion::Excused]) };
            excused.removeAll(QString());
            if (!days[Occasion::ExcusedAfterwards].empty())
                excused << ReportTexts::tr("%1 afterwards").arg(words::daysInWords(days[Occasion::ExcusedAfterwards]));
            if (!days[Occasion::Unproven].empty())
                excused << ReportTexts::tr("unproven: %1").arg(words::daysInWords(days[Occasion::Unproven]));
            if (!days[Occasion::Open].empty())
                excused << ReportTexts::tr("open: %1").arg(words::daysInWords(days[Occasion::Open]));
            rows.push_back({ text(meter.meter.value), QString::number(meter.required()), QString::number(meter.met),
                QString::number(meter.late), longest, QString::number(meter.notCleared.hours(), 'f', 1), QString::number(meter.missed),
                QStringLiteral("  ") + words::daysInWords(days[Occasion::Missed]), excused.join(QStringLiteral("; ")) });
        }
        heading(ReportTexts::tr("Controls owed: days in service, and days declared not in use"), 80);
        m_paper.table({ { ReportTexts::tr("Meter"), 54, false, {}, true }, { ReportTexts::tr("owed"), 44, true, {}, false },
                          { ReportTexts::tr("in time"), 50, true, {}, false }, { ReportTexts::tr("late"), 40, true, {}, false },
                          { ReportTexts::tr("longest"), 70, true, {}, false }, { ReportTexts::tr("not cleared h"), 78, true, {}, false },
                          { ReportTexts::tr("missed"), 50, true, {}, false },
                          { QStringLiteral("  ") + ReportTexts::tr("missed on day"), 120, false, {}, false },
                          { ReportTexts::tr("excused on day"), 0, false, {}, false } },
            rows);
        if (m_in.figures.countedBy == CountedBy::Occasion)
            m_paper.text(ReportTexts::tr("Owed: each occasion in service, and controls that something asked for. In time: an accepted set, "
                                         "no later than the tolerance after the clearance before it ended. Late: longer after it; longest "
                                         "is how long after. Not cleared: hours in service, not declared unused, without clearance. Open: "
                                         "can still be met. Unproven: entered long after, without its paper, and not accepted by the "
                                         "coordinator; owed, and not counted as in time."),
                m_paper.small());
        else
            m_paper.text(
                ReportTexts::tr("This month was first signed when each day was counted against yesterday's minute, and is counted "
                                "so. In time: an accepted set before the clearance of the one before ran out. Late: on the day, "
                                "but after it. Unproven: entered long after, without its paper; owed, and not counted as in time."),
                m_paper.small());
    }

    void allFigures()
    {
        std::vector<std::vector<QString>> rows;
        for (const auto& meter : m_in.figures.meters)
            for (const auto& f : meter.levels)
                rows.push_back({ text(meter.meter.value), words::level(f.level), text(f.stripLot.value), text(f.controlLot.value),
                    QString::number(f.n), excludedText(f), words::meanText(f.mean, f.unit), words::sdText(f.sd, f.unit),
                    words::plainText(f.cvPercent, 1), words::signedText(f.biasPercent, 1), words::signedText(f.sdi, 1),
                    words::plainText(f.cvRatio, 2),
                    f.min ? ReportTexts::tr("%1 to %2").arg(words::valueText(f.min, f.unit), words::valueText(f.max, f.unit)) : QString(),
                    QString::number(f.rejected), QString::number(f.warned) });
        if (rows.empty())
            return;
        heading(ReportTexts::tr("Every meter, level and lot"), 80);
        const auto figure = [](const QString& title, double width) { return PaperColumn { title, width, true, {}, false }; };
        const auto term = [](const QString& title, double width) { return PaperColumn { title, width, false, {}, false }; };
        m_paper.table(
            { { ReportTexts::tr("Meter"), 48, false, {}, true }, term(ReportTexts::tr("level"), 42), term(ReportTexts::tr("strips"), 52),
                term(ReportTexts::tr("control"), 56), figure(ReportTexts::tr("n"), 28), figure(ReportTexts::tr("excl."), 52),
                figure(ReportTexts::tr("mean"), 46), figure(ReportTexts::tr("SD"), 42), figure(ReportTexts::tr("CV %"), 38),
                figure(ReportTexts::tr("bias %"), 46), figure(ReportTexts::tr("SDI"), 38), figure(ReportTexts::tr("CVR"), 38),
                figure(ReportTexts::tr("min to max"), 74), figure(ReportTexts::tr("rej."), 34), figure(ReportTexts::tr("warn."), 0) },
            rows);
        m_paper.text(ReportTexts::tr("n: results that count, repeats among them. excl.: runs left out of mean and SD (i invalid, H HI, "
                                     "L LO, e error code). bias: against the target mean. CVR: CV against the CV of "
                                     "the others. rej., warn.: runs."),
            m_paper.small());
    }

    static QString excludedText(const LevelFigures& f)
    {
        QStringList parts;
        for (const auto& [count, letter] :
            { std::pair(f.invalid, ReportTexts::tr("i", "a run that is invalid")),
                std::pair(f.high, ReportTexts::tr("H", "a run that read HI")), std::pair(f.low, ReportTexts::tr("L", "a run that read LO")),
                std::pair(f.errors, ReportTexts::tr("e", "a run with an error code")) })
            if (count > 0)
                parts << QStringLiteral("%1 %2").arg(count).arg(letter);
        return parts.isEmpty() ? QStringLiteral("0") : parts.join(QStringLiteral(", "));
    }

    const MonthReportInput& m_in;
    Paper m_paper;
};

} // namespace

base::Done writeMonthReport(const MonthReportInput& input, const std::string& path)
{
    return MonthReport(input).write(path);
}

} // namespace mk::report
