# Initial cache: cmake -C .ci/fuzz.cmake -S . -B build-fuzz
# The floors that parse, and a libFuzzer program for each parser; every finding ends the program.
set(CMAKE_CXX_COMPILER clang++-19 CACHE STRING "")
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_CXX_FLAGS "-O1 -g1 -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer" CACHE STRING "")
set(MK_FUZZ ON CACHE BOOL "")
set(MK_WARNINGS_ARE_ERRORS OFF CACHE BOOL "")
