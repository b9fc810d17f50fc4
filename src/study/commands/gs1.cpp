// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/gs1.h"

#include "study/terminal/printing.h"
#include "words/faults.h"
#include "words/terms.h"

#include <CLI/CLI.hpp>

#include <QDate>

#include <memory>

namespace mk::study {

namespace {

struct Gs1Arguments {
    std::string code;
    std::string today;
};

int runGs1(const Gs1Arguments& arguments, bool json)
{
    const auto today = base::parseDate(
        arguments.today.empty() ? QDate::currentDate().toString(Qt::ISODate).toStdString() : arguments.today);
    if (!today)
        return printFault(base::fault(today.error().kind, "--today: %1", today.error()));
    const auto code = exchange::parseGs1(arguments.code, *today);
    if (!code)
        return printFault(code.error());
    return printText(json ? gs1Json(*code) : gs1Table(*code));
}

} // namespace

std::string gs1Json(const exchange::Gs1Code& code)
{
    JsonWriter json;
    json.beginObject().key("format").value(1);
    for (const exchange::Gs1Element& element : code.elements)
        json.key(element.identifier->key).value(element.text);
    json.key("elements").beginArray();
    for (const exchange::Gs1Element& element : code.elements) {
        json.beginObject().key("ai").value(element.identifier->ai).key("name").value(element.identifier->label);
        json.key("value").value(element.scanned).endObject();
    }
    json.endArray().key("notes").beginArray();
    for (const base::Fault& note : code.notes)
        json.value(note.text);
    json.endArray().endObject();
    return json.text() + '\n';
}

std::string gs1Table(const exchange::Gs1Code& code)
{
    std::vector<std::vector<std::string>> rows;
    for (const exchange::Gs1Element& element : code.elements) {
        rows.push_back(
            { "(" + std::string(element.identifier->ai) + ")", words::term(element.identifier->label).toStdString(), element.text });
        if (element.text != element.scanned)
            rows.back().push_back(said(StudyTexts::tr("scanned as %1"), element.scanned));
    }
    std::string text = alignedTable(rows);
    for (const base::Fault& note : code.notes)
        text += said(StudyTexts::tr("Look: %1"), words::said(note).toStdString()) + '\n';
    return text;
}

void addGs1Command(CLI::App& app, const bool& json, std::function<int()>& chosen)
{
    auto* command = app.add_subcommand("gs1", "What a GS1 code says: GTIN, lot, expiry and more");
    command->fallthrough();
    auto arguments = std::make_shared<Gs1Arguments>();
    command->add_option("STRING", arguments->code, "The code, such as '(01)12345678901231(17)270331(10)ABC'")->required();
    command->add_option("--today", arguments->today, "The day that decides the century, YYYY-MM-DD (default: today)");
    command->footer(
        "How it is read:\n"
        "  Raw as a reader sends it, with FNC1 as the byte 0x1d or written \\x1d, with or without a symbology identifier (]d2 ]C1 ]Q3\n"
        "  ]e0 ]J1), or bracketed as it is printed. Day 00 is the last day of its month; two-digit years lie within 49 years before\n"
        "  and 50 after today. A separator that was lost cannot be seen by syntax: where a lot looks as if it swallowed a date,\n"
        "  there is a note.\n"
        "Example:\n  meterkeep-cli gs1 ']d2011234567890123110ABC123\\x1d17270331'");
    whenChosen(*command, chosen, [arguments, &json] { return runGs1(*arguments, json); });
}

} // namespace mk::study
