# SPDX-License-Identifier: Apache-2.0
# Java writes nothing to the host's stderr; without a kernel that needs them, no incubator modules are added.
execute_process(COMMAND ${TEST} scenario ${BUNDLE} RESULT_VARIABLE result ERROR_VARIABLE said)
file(GLOB vector ${BUNDLE}/Contents/Resources/java/evenstop-vector-*.jar)
if(NOT result EQUAL 0)
  message(FATAL_ERROR "the scenario failed: ${said}")
elseif(NOT said STREQUAL "" AND NOT (vector AND said MATCHES "^WARNING: Using incubator modules: jdk\\.incubator\\.vector\n$"))
  message(FATAL_ERROR "on stderr: ${said}")
endif()
