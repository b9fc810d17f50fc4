# SPDX-License-Identifier: GPL-3.0-or-later
cmake_minimum_required(VERSION 3.25)
# Lists what a translator needs and lupdate does not see, and looks for one of each kind; a kind whose pattern no longer fits the code
# would go missing in silence.
find_program(PERL perl REQUIRED)
execute_process(COMMAND ${PERL} ${ROOT}/ui/translations/sentence_keys.pl ${ROOT}/src OUTPUT_VARIABLE listed RESULT_VARIABLE result)
if(NOT result EQUAL 0)
    message(FATAL_ERROR "The list of keys could not be made")
endif()
foreach(key
    "there is no value; give at least one" # badInput
    "%1 is locked by another program; try again when that one is done" # base::fault with its kind
    "the address of the registry is longer than %2 characters; write %1" # through a function that takes a base::Sentence
    "has an empty value; give one, or leave it out" # a part is enough
    "The moment to judge from, such as 2026-11-18T06:52 (default: now)" # an option
    "Founds an empty registry" # a command
    "Blank lines are skipped and not counted." # under a command
    "Rules in use, each with :warn or :reject (default reject): %1" # a description with a place
    "Print one JSON document" # a flag
    "kind of incident" # a noun
    "strip vial" # a field
    "Serial number" # what a code on a box may hold
    "42 CFR 493.1281(a): twice a year") # where a setting's default comes from
    string(FIND "${listed}" "${key}" at)
    if(at EQUAL -1)
        message(FATAL_ERROR "The list lacks: ${key}")
    endif()
endforeach()
foreach(kind "Fault;550" "Help;170" "Term;200")
    list(GET kind 0 context)
    list(GET kind 1 least)
    string(FIND "${listed}" "<name>${context}</name>" begin)
    if(begin EQUAL -1)
        message(FATAL_ERROR "${context} has no keys")
    endif()
    string(SUBSTRING "${listed}" ${begin} -1 from)
    string(FIND "${from}" "</context>" end)
    string(SUBSTRING "${from}" 0 ${end} from)
    string(REPLACE ";" "," from "${from}")
    string(REGEX MATCHALL "<message>" messages "${from}")
    list(LENGTH messages count)
    if(count LESS least)
        message(FATAL_ERROR "${context} has ${count} keys and had at least ${least}")
    endif()
    message(STATUS "${context}: ${count} keys")
endforeach()
