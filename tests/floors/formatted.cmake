# SPDX-License-Identifier: GPL-3.0-or-later
cmake_minimum_required(VERSION 3.25)
# Fails on a source under ROOT that is not laid out as .clang-format has it. ./.ci/format mends it.
find_program(CLANG_FORMAT NAMES clang-format-14 REQUIRED) # another version lays it out another way
file(GLOB_RECURSE files ${ROOT}/src/*.h ${ROOT}/src/*.cpp ${ROOT}/tests/*.h ${ROOT}/tests/*.cpp)
list(LENGTH files count)
if(count LESS 10)
    message(FATAL_ERROR "only ${count} files under ${ROOT}: nothing was checked")
endif()
execute_process(COMMAND ${CLANG_FORMAT} --dry-run -Werror ${files} RESULT_VARIABLE result ERROR_VARIABLE said)
if(NOT result EQUAL 0)
    string(REGEX MATCHALL "[^\n]*: error:" places "${said}")
    list(TRANSFORM places REPLACE ":[0-9]+:[0-9]+: error:" "")
    list(REMOVE_DUPLICATES places)
    list(JOIN places "\n" places)
    message(FATAL_ERROR "Not laid out as .clang-format has it; ./.ci/format mends it:\n${places}")
endif()
message(STATUS "${count} files are laid out as .clang-format has it")
