# SPDX-License-Identifier: Apache-2.0
# The plug-in works from a folder with a colon, a space and letters beyond ASCII in its name, in the C locale.
set(place "${WORK}/Füße: 1")
file(REMOVE_RECURSE ${WORK})
file(MAKE_DIRECTORY "${place}")
file(COPY ${BUNDLE} DESTINATION "${place}")
set(ENV{LC_ALL} C)
execute_process(COMMAND ${TEST} scenario "${place}/Evenstop.ofx.bundle" RESULT_VARIABLE result)
file(REMOVE_RECURSE ${WORK})
if(NOT result EQUAL 0)
  message(FATAL_ERROR "the plug-in did not work there")
endif()
