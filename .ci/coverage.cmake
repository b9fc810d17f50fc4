# Initial cache: cmake -C .ci/coverage.cmake -S . -B build-coverage, then ctest there, then tests/coverage build-coverage
# Counts what the tests reach. A build of its own: counted beside the sanitizers it compiles several times as long.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_CXX_FLAGS "-O0" CACHE STRING "")
set(MK_COVERAGE ON CACHE BOOL "")
set(MK_WARNINGS_ARE_ERRORS OFF CACHE BOOL "")
