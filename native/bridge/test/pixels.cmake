# SPDX-License-Identifier: Apache-2.0
# Pixels of the plug-in against those of the engine: a frame goes through ofxhost with a kept correction, and through the
# engine in a process of its own; every bit must be the same.
file(REMOVE_RECURSE ${WORK})
file(MAKE_DIRECTORY ${WORK})
file(GLOB jars ${BUNDLE}/Contents/Resources/java/*.jar)
list(JOIN jars ":" class_path)
set(size 211x67)
foreach(form float:rgba:premultiplied float:rgb:opaque half:rgba:unpremultiplied short:rgba:opaque byte:rgb:opaque)
  string(REPLACE ":" ";" parts ${form})
  list(GET parts 0 depth)
  list(GET parts 1 components)
  list(GET parts 2 premult)
  set(common render ${BUNDLE} --in pattern:noise --size ${size} --depth ${depth} --components ${components} --premult ${premult}
      --frames 0-1 --quiet)
  execute_process(COMMAND ${OFXHOST} ${common} --set strength=0 --out ${WORK}/in.raw
                  OUTPUT_QUIET COMMAND_ERROR_IS_FATAL ANY)
  execute_process(COMMAND ${OFXHOST} ${common} --press measureClip --set strength=0.8 --set exposureTrim=0.4 --negative-stride --row-padding 20
                          --out ${WORK}/out.raw --state-out ${WORK}/state.json
                  OUTPUT_QUIET COMMAND_ERROR_IS_FATAL ANY)
  execute_process(COMMAND ${JDK}/bin/java -cp ${class_path} ${CMAKE_CURRENT_LIST_DIR}/CompareWithEngine.java
                          ${WORK}/in.raw ${WORK}/out.raw ${WORK}/state.json ${size} ${depth} ${components} ${premult}
                  COMMAND_ERROR_IS_FATAL ANY)
endforeach()
