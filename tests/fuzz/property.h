// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>

/// What the fuzz targets share. A target is a function of bytes that ends the program where a property does not hold.
namespace mk::fuzz {

inline void mustHold(bool holds, const char* property, std::string_view detail = {})
{
    if (holds)
        return;
    std::fprintf(stderr, "does not hold: %s\n%s\n", property, std::string(detail).c_str());
    std::abort();
}

inline std::string_view bytesOf(const std::uint8_t* data, std::size_t size)
{
    return { reinterpret_cast<const char*>(data), size };
}

/// Takes the first byte off: it picks one of several things to try.
inline std::size_t choice(std::string_view& bytes, std::size_t count)
{
    if (bytes.empty())
        return 0;
    const auto first = static_cast<unsigned char>(bytes.front());
    bytes.remove_prefix(1);
    // 'a', 'b', 'c' … in the order of the list, so that a corpus can be written by hand.
    return (first >= 'a' ? first - 'a' : first) % count;
}

} // namespace mk::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
