// SPDX-License-Identifier: GPL-3.0-or-later
// Every setting has a reader: for each key two values, and something that the registry answers differs between them.
#include "journeys/setting_probes.h"

#include <gtest/gtest.h>

#include <QDirIterator>
#include <QFile>

#include <map>
#include <set>

namespace mk::journeys {
namespace {

using namespace registry;

/// Does a file outside the policy's own room name this member of Policy?
bool isReadInSource(const QString& member)
{
    QDirIterator files(QStringLiteral(MK_SOURCE_DIR "/src"), { QStringLiteral("*.cpp"), QStringLiteral("*.h") }, QDir::Files,
        QDirIterator::Subdirectories);
    while (files.hasNext()) {
        QFile file(files.next());
        if (file.fileName().contains(QStringLiteral("/registry/policy/")) || !file.open(QIODevice::ReadOnly))
            continue;
        const QByteArray text = file.readAll();
        if (text.contains('.' + member.toUtf8()) || text.contains("->" + member.toUtf8()))
            return true;
    }
    return false;
}

struct SettingTrial {
    std::string other;     ///< a value that is not the default
    PolicyPairs beside {}; ///< what both documents say as well, where the setting speaks only then
};

/// A new setting gets its line here; without one the test below fails.
const std::map<std::string, SettingTrial> kTrials {
    { "profile", { "our ward" } },
    { "clearance", { "calendar" } },
    { "clearance_hours", { "12" } },
    { "day_boundary", { "07:00", { { "clearance", "calendar" } } } },
    { "shift_boundaries", { "07:00 19:00" } },
    { "grace_minutes", { "30" } },
    { "new_strip_lot", { "insert" } },
    { "new_strip_vial", { "every-meter" } },
    { "new_control_vial", { "beside" } },
    { "reserve_control", { "none" } },
    { "required_levels", { "low" } },
    { "set_window_minutes", { "10" } },
    { "rules", { "none" } },
    { "r4s_reading", { "range" } },
    { "ewma_lambda", { "0.5" } },
    { "ewma_width", { "1", { { "drift_rules", "EWMA" } } } },
    { "cusum_k", { "0.7" } },
    { "cusum_h", { "1" } },
    { "drift_method", { "group-target" } },
    { "rule_reference", { "target" } },
    { "drift_rules", { "4-1s,10x,EWMA" } },
    { "usual_controls", { "10" } },
    { "usual_prior", { "4" } },
    { "newest_controls", { "5" } },
    { "apart_days", { "7" } },
    { "told_control_hours", { "12" } },
    { "base_results", { "9 30" } },
    { "base_meters", { "5" } },
    { "comparison_interval", { "3 m" } },
    { "comparison_due_days", { "1" } },
    { "pair_window_minutes", { "8" } },
    { "pair_target_minutes", { "12" } },
    { "separation_minutes", { "60" } },
    { "capillary_fasting", { "optional" } },
    { "limit_threshold", { "70" } },
    { "limit_below", { "10" } },
    { "limit_threshold_mmol", { "4.0" } },
    { "limit_below_mmol", { "0.5" } },
    { "limit_percent", { "10" } },
    { "comparison_criteria", { "ISO-15" } },
    { "calibration_interval", { "6 m" } },
    { "eqa_failure", { "hold" } },
    { "drift_blocks", { "never" } },
    { "due_soon_hours", { "0" } },
    { "error_codes", { "4" } },
    { "error_code_hours", { "2" } },
    { "return_sets", { "3" } },
    { "cleaning_interval", { "7 d" } },
    { "lookback_after_repeat", { "no" } },
    { "control_after_transfer", { "no" } },
    { "competency_interval", { "6 m" } },
    { "competency_first_year", { "3 m" } },
    { "due_soon_days", { "1" } },
    { "same_badge_minutes", { "5" } },
    { "past_entry_hours", { "6" } },
    { "late_entry_minutes", { "30" } },
    { "second_person", { "no" } },
    { "repeats_per_step", { "3" } },
    { "review_due_day", { "5" } },
    { "occasion_tolerance", { "60" } },
    { "auto_logoff_minutes", { "10" } },
    { "sign_in_tries", { "8" } },
    { "sign_in_lock_minutes", { "60" } },
    { "backup_days", { "30" } },
    { "retention_years", { "5" } },
    { "sdi_caution", { "1.9" } },
    { "sdi_action", { "1.6" } },
    { "group_meters", { "9" } },
    { "group_results", { "1000" } },
    { "release_meters", { "4" } },
    { "release_replicates", { "3" } },
    { "release_samples", { "6" } },
    { "stock_days", { "200" } },
    { "stock_vials", { "10" } },
};

/// Read by a workstation that has lost its server, where no value of this floor shows it: ServerLoss.MayKeepAsThePolicySays and its twin.
const std::set<std::string> kTriedByTheWindow { "record_offline" };

/// Only seen to be read: it speaks where a late correction changes no verdict of its own set and yet would end a stop.
const std::map<std::string, QString> kReadElsewhere { { "confirm_after_hours", QStringLiteral("confirmAfterHours") } };

} // namespace

TEST(Settings, EachHasAReaderThatAnswersDifferently)
{
    std::map<std::pair<SettingUse, PolicyPairs>, std::string> asked; // the default is asked once a use
    for (const auto& setting : defaultPolicySettings()) {
        if (kTriedByTheWindow.contains(setting.key))
            continue;
        if (const auto elsewhere = kReadElsewhere.find(setting.key); elsewhere != kReadElsewhere.end()) {
            EXPECT_TRUE(isReadInSource(elsewhere->second)) << setting.key << " is read by nobody";
            continue;
        }
        const auto trial = kTrials.find(setting.key);
        ASSERT_NE(trial, kTrials.end()) << setting.key << " has no reader that a test has seen; give it two values whose answers differ";
        PolicyPairs changed = trial->second.beside;
        changed.emplace_back(setting.key, trial->second.other);
        auto& usual = asked[{ setting.use, trial->second.beside }];
        if (usual.empty())
            usual = answerOf(setting.use, trial->second.beside);
        EXPECT_NE(answerOf(setting.use, changed), usual) << setting.key << " = " << trial->second.other << " changes no answer of its use";
    }
    EXPECT_EQ(kTrials.size() + kTriedByTheWindow.size() + kReadElsewhere.size(), defaultPolicySettings().size())
        << "a line for a setting that is no more";
}

TEST(Settings, TheSameDocumentIsAnsweredTheSameTwice)
{
    // Else the test above would see a difference that no setting made.
    for (const auto use : { SettingUse::Fitness, SettingUse::Verdict, SettingUse::Comparison, SettingUse::Consequence, SettingUse::People,
             SettingUse::Records, SettingUse::Month, SettingUse::SignIn, SettingUse::Keeping, SettingUse::Lots, SettingUse::Shown })
        EXPECT_EQ(answerOf(use, {}), answerOf(use, {}));
}

} // namespace mk::journeys
