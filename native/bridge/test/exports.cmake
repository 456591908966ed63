# SPDX-License-Identifier: Apache-2.0
# The binary exports the standard's three functions and nothing else.
execute_process(COMMAND ${NM} -D --defined-only ${LIBRARY} OUTPUT_VARIABLE output COMMAND_ERROR_IS_FATAL ANY)
string(REGEX MATCHALL "[^ \n]+\n" names "${output}")
list(SORT names)
string(REPLACE "\n" "" names "${names}")
string(REPLACE ";" " " names "${names}")
if(NOT names STREQUAL "OfxGetNumberOfPlugins OfxGetPlugin OfxSetHost")
  message(FATAL_ERROR "exported: ${names}")
endif()
message(STATUS "exported: ${names}")
