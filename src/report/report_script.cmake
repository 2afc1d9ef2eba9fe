# Sets RESTEP_REPORT_SCRIPT to the source that holds the scripts of the HTML report. With Node and npm they are fetched
# (pinned by src/report/web/package-lock.json) and bundled into the build folder; nothing is copied into the source tree.
set(web ${PROJECT_SOURCE_DIR}/src/report/web)
set(RESTEP_REPORT_SCRIPT ${web}/no_script.cpp)
option(RESTEP_WEB "bundle the scripts of the HTML report (wants Node and npm)" ON)
find_program(RESTEP_NODE node)
find_program(RESTEP_NPM npm)

if(NOT RESTEP_WEB)
  message(STATUS "HTML report: static figures only (RESTEP_WEB is off)")
  return()
endif()
if(NOT RESTEP_NODE OR NOT RESTEP_NPM)
  message(STATUS "HTML report: static figures only (no Node.js or npm found)")
  return()
endif()

set(work ${PROJECT_BINARY_DIR}/web)
file(MAKE_DIRECTORY ${work})
foreach(file package.json package-lock.json)
  configure_file(${web}/${file} ${work}/${file} COPYONLY)
endforeach()
file(SHA256 ${web}/package-lock.json wanted)
set(installed)
if(EXISTS ${work}/installed)
  file(READ ${work}/installed installed)
endif()
if(NOT installed STREQUAL wanted)
  message(STATUS "HTML report: fetching the libraries of its figures")
  execute_process(COMMAND ${RESTEP_NPM} ci --ignore-scripts --no-audit --no-fund WORKING_DIRECTORY ${work}
    RESULT_VARIABLE failed OUTPUT_QUIET ERROR_VARIABLE why TIMEOUT 300)
  if(failed)
    message(WARNING "HTML report: static figures only (npm could not fetch the libraries: ${why})")
    return()
  endif()
  file(WRITE ${work}/installed ${wanted})
endif()

file(GLOB scripts CONFIGURE_DEPENDS ${web}/*.js ${web}/*.css)
set(RESTEP_REPORT_SCRIPT ${work}/script.cpp)
add_custom_command(OUTPUT ${work}/script.cpp
  COMMAND ${RESTEP_NODE} ${web}/bundle.mjs ${work} ${work}/script.cpp
  DEPENDS ${scripts} ${web}/bundle.mjs ${work}/installed
  COMMENT "Bundling the report's scripts" VERBATIM)
# The bundle is one string, longer than the standard makes every compiler take.
set_source_files_properties(${work}/script.cpp PROPERTIES COMPILE_OPTIONS
  $<$<CXX_COMPILER_ID:Clang>:-Wno-overlength-strings>)
