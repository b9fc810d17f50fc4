// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/values.h"
#include "registry/terms/zone.h"

#include <vector>

namespace mk::registry {

/// What reading a text needs beside the text, and where doubts about it are noted.
struct ReadContext {
    const Zone* zone = nullptr;
    std::vector<std::string>* questions = nullptr; ///< may be null: then a doubtful time is refused
};

/// How a value of type T is written as text, and read back from it; the same form in files, journal and options.
template <typename T>
struct TextForm;

template <>
struct TextForm<std::string> {
    static std::string write(const std::string& value) { return value; }
    static base::Result<std::string> read(std::string_view text, const ReadContext&) { return std::string(text); }
};

template <typename Tag>
struct TextForm<base::Id<Tag>> {
    static std::string write(const base::Id<Tag>& id) { return id.value; }
    static base::Result<base::Id<Tag>> read(std::string_view text, const ReadContext&) { return base::Id<Tag>(std::string(text)); }
};

template <Worded E>
struct TextForm<E> {
    static std::string write(E value) { return std::string(word(value)); }
    static base::Result<E> read(std::string_view text, const ReadContext&)
    {
        if (const auto value = valueOf<E>(text))
            return *value;
        std::string choices;
        for (const auto choice : Words<E>::all)
            choices += (choices.empty() ? "" : ", ") + std::string(choice);
        return base::badInput("'%1' is not a known %2; write one of %3", text, base::asTerm(Words<E>::what), base::asCode(choices));
    }
};

template <>
struct TextForm<base::GlucoseUnit> {
    static std::string write(base::GlucoseUnit unit) { return std::string(base::toText(unit)); }
    static base::Result<base::GlucoseUnit> read(std::string_view text, const ReadContext&)
    {
        if (const auto unit = base::glucoseUnitNamed(text))
            return *unit;
        return base::badInput("'%1' is not a unit; write mg/dL or mmol/L", text);
    }
};

template <>
struct TextForm<base::Decimal> {
    static std::string write(const base::Decimal& value) { return value.typed(); }
    static base::Result<base::Decimal> read(std::string_view text, const ReadContext&) { return base::Decimal::parse(text); }
};

template <>
struct TextForm<Reading> {
    static std::string write(const Reading& value) { return toText(value); }
    static base::Result<Reading> read(std::string_view text, const ReadContext&) { return parseReading(text); }
};

template <>
struct TextForm<base::PrintedDate> {
    static std::string write(const base::PrintedDate& value) { return value.typed; }
    static base::Result<base::PrintedDate> read(std::string_view text, const ReadContext&) { return base::parsePrintedDate(text); }
};

template <>
struct TextForm<base::Date> {
    static std::string write(base::Date value) { return base::toText(value); }
    static base::Result<base::Date> read(std::string_view text, const ReadContext&) { return base::parseDate(text); }
};

template <>
struct TextForm<base::Period> {
    static std::string write(base::Period value) { return base::toText(value); }
    static base::Result<base::Period> read(std::string_view text, const ReadContext&) { return base::parsePeriod(text); }
};

template <>
struct TextForm<base::Moment> {
    static std::string write(base::Moment value) { return base::toText(value); }
    /// A time without offset means the registry's zone. A bare date means the start of that day.
    static base::Result<base::Moment> read(std::string_view text, const ReadContext& context);
};

template <>
struct TextForm<base::Seq> {
    static std::string write(base::Seq value) { return std::to_string(value.value); }
    static base::Result<base::Seq> read(std::string_view text, const ReadContext&);
};

} // namespace mk::registry
