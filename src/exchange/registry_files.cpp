// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/registry_files.h"

namespace mk::exchange {

namespace {

using namespace registry;

/// Quoted where RFC 4180 asks for it, and where blanks at an end would be lost.
std::string cellOf(const std::string& text)
{
    const bool plain = text.find_first_of(",\"\r\n") == std::string::npos
        && (text.empty() || (text.front() != ' ' && text.back() != ' ' && text.front() != '\t' && text.back() != '\t'));
    if (plain)
        return text;
    std::string cell = "\"";
    for (const char c : text) {
        if (c == '"')
            cell += '"';
        cell += c;
    }
    return cell + '"';
}

struct HeaderWriter {
    std::string line;

    template <typename T>
    void operator()(std::string_view name, const T&, acts::Field field)
    {
        if (field != acts::Field::Program)
            line += (line.empty() ? "" : ",") + std::string(name);
    }
};

struct RowWriter {
    std::string line;
    bool first = true;

    template <typename T>
    void operator()(std::string_view, const T& value, acts::Field)
    {
        append(TextForm<T>::write(value));
    }
    template <typename T>
    void operator()(std::string_view, const std::optional<T>& value, acts::Field field)
    {
        if (field != acts::Field::Program)
            append(value ? TextForm<T>::write(*value) : std::string());
    }

private:
    void append(const std::string& text)
    {
        line += (first ? "" : ",") + cellOf(text);
        first = false;
    }
};

} // namespace

std::vector<WrittenFile> registryFiles(std::span<const Act> acts)
{
    std::vector<WrittenFile> files;
    const auto write = [&]<typename A>() {
        WrittenFile file { std::string(A::file), {}, 0 };
        HeaderWriter header;
        const A example {};
        A::describe(header, example);
        file.bytes = header.line + "\n";
        for (const auto& act : acts)
            if (const auto* one = std::get_if<A>(&act)) {
                RowWriter row;
                A::describe(row, *one);
                file.bytes += row.line + "\n";
                ++file.rows;
            }
        files.push_back(std::move(file));
    };
    [&]<typename... A>(std::tuple<A...>*) { (write.template operator()<A>(), ...); }(static_cast<FileActs*>(nullptr));
    return files;
}

} // namespace mk::exchange
