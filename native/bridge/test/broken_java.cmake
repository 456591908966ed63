# SPDX-License-Identifier: Apache-2.0
# A run-time one of whose libraries is rubbish: its VM ends the process that starts it, unless it is kept from that.
if(NOT EXISTS ${JRE}/release)
  message(STATUS "skipped: the bundle has no run-time to break")
  return()
endif()
file(REMOVE_RECURSE ${WORK})
file(COPY ${JRE} DESTINATION ${WORK})
file(WRITE ${WORK}/jre/lib/libjimage.so "rubbish")
execute_process(COMMAND ${TEST} broken-java ${BUNDLE} ${WORK}/jre RESULT_VARIABLE result)
file(REMOVE_RECURSE ${WORK})
if(NOT result EQUAL 0)
  message(FATAL_ERROR "the host did not live on, or was not told")
endif()
