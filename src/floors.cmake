# SPDX-License-Identifier: GPL-3.0-or-later
# One library per floor; each names the floors and packages that it may use, and links nothing else.

add_library(mk_warnings INTERFACE)
target_compile_options(mk_warnings INTERFACE -Wall -Wextra -Wpedantic -Wconversion -Wsign-conversion -Wshadow
    -Wnon-virtual-dtor -Wold-style-cast -Woverloaded-virtual $<$<BOOL:${MK_WARNINGS_ARE_ERRORS}>:-Werror>)
target_compile_definitions(mk_warnings INTERFACE QT_NO_CAST_FROM_ASCII QT_NO_CAST_TO_ASCII QT_DISABLE_DEPRECATED_BEFORE=0x060400)

# mk_floor(name USES lib...): every .cpp of the folder becomes the library mk_name.
function(mk_floor name)
    cmake_parse_arguments(FLOOR "" "" "USES" ${ARGN})
    file(GLOB sources CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/src/${name}/*.cpp ${CMAKE_SOURCE_DIR}/src/${name}/*.h
        ${CMAKE_SOURCE_DIR}/src/${name}/*/*.cpp ${CMAKE_SOURCE_DIR}/src/${name}/*/*.h)
    list(FILTER sources EXCLUDE REGEX "/main\\.cpp$")
    add_library(mk_${name} STATIC ${sources})
    target_include_directories(mk_${name} PUBLIC ${CMAKE_SOURCE_DIR}/src)
    target_link_libraries(mk_${name} PUBLIC ${FLOOR_USES} PRIVATE mk_warnings)
    if(MK_COVERAGE)
        target_compile_options(mk_${name} PRIVATE --coverage)
        target_link_options(mk_${name} PUBLIC --coverage)
    endif()
    if(NOT name MATCHES "report|desktop") # qcustomplot.h needs the keywords
        target_compile_definitions(mk_${name} PRIVATE QT_NO_KEYWORDS)
    endif()
endfunction()
