# SPDX-License-Identifier: GPL-3.0-or-later
cmake_minimum_required(VERSION 3.25)
# Plants a glued sentence in a copy of the sources and asks the check to find it.
file(REMOVE_RECURSE ${WORK})
file(COPY ${ROOT}/ DESTINATION ${WORK})
foreach(planted "return base::badInput(\"no meter \" + name)" "return refused(std::string(what))" "return badInput(\n        name + \" is locked\")"
    "return base::fault(kind, \"%1\", left.error().text)" "return refused(what)" "return { full ? FaultKind::Full : FaultKind::Io, path }" "return Fault { FaultKind::Io, \"the disk is full\" }"
    "return base::badInput(\"%1 days\", std::to_string(days))")
    file(WRITE ${WORK}/store/glue.cpp "base::Fault glue()\n{\n    ${planted};\n}\n")
    execute_process(COMMAND ${CMAKE_COMMAND} -DROOT=${WORK} -P ${CMAKE_CURRENT_LIST_DIR}/whole_sentences.cmake RESULT_VARIABLE result ERROR_VARIABLE said OUTPUT_QUIET)
    if(result EQUAL 0 OR NOT said MATCHES "store/glue.cpp")
        message(FATAL_ERROR "The check did not find ${planted}")
    endif()
endforeach()
