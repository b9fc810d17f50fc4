// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Excursions and makers' notices: what is admitted, and what is stopped at once (handbook 2.6, 2.9).
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::ExcursionReported& act);
base::Done admit(const Desk& desk, const acts::VialReleased& act);
base::Done admit(const Desk& desk, const acts::NoticeIssued& act);
base::Done admit(const Desk& desk, const acts::NoticeItemDone& act);
base::Done admit(const Desk& desk, const acts::NoticeClosed& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::ExcursionReported& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::NoticeIssued& act);

/// An open notice that names the meter bars its acceptance, also of one enrolled later, until what was done about it is on record.
base::Done noNoticeBars(const Desk& desk, const base::MeterId& meter);
/// A meter that a notice stopped comes back when it is on record what was done about it (handbook 1.5).
base::Done needNoticeItems(const Desk& desk, const acts::ReturnStep& step);

} // namespace mk::registry::desk
