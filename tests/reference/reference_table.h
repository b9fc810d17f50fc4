// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <string>
#include <vector>

namespace mk::reference {

/// A table of check values: comma separated, quotes around cells that hold commas, header first. Missing files and columns end the test at
/// once.
class ReferenceTable {
public:
    /// path   below tests/reference, such as "statistics/nist_ewma.csv"
    explicit ReferenceTable(const std::string& path)
    {
        std::ifstream file(std::string(MK_SOURCE_DIR) + "/tests/reference/" + path);
        for (std::string line; std::getline(file, line);)
            m_rows.push_back(split(line));
        if (m_rows.size() < 2)
            std::abort();
    }

    std::size_t size() const { return m_rows.size() - 1; }

    const std::string& text(std::size_t row, const std::string& column) const
    {
        const auto found = std::find(m_rows[0].begin(), m_rows[0].end(), column);
        if (found == m_rows[0].end())
            std::abort();
        return m_rows.at(row + 1).at(static_cast<std::size_t>(found - m_rows[0].begin()));
    }

    double number(std::size_t row, const std::string& column) const { return std::stod(text(row, column)); }

    std::vector<double> numbers(const std::string& column) const
    {
        std::vector<double> all;
        for (std::size_t row = 0; row < size(); ++row)
            all.push_back(number(row, column));
        return all;
    }

private:
    static std::vector<std::string> split(const std::string& line)
    {
        std::vector<std::string> cells(1);
        bool quoted = false;
        for (const char c : line) {
            if (c == '"')
                quoted = !quoted;
            else if (c == ',' && !quoted)
                cells.emplace_back();
            else if (c != '\r')
                cells.back() += c;
        }
        return cells;
    }

    std::vector<std::vector<std::string>> m_rows;
};

} // namespace mk::reference
