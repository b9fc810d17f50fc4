# Initial cache: cmake -C .ci/debug.cmake -S . -B build-debug
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
