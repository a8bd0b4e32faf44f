# The revision that a result file names: from git where there is one.
find_package(Git QUIET)
set(TORSOWAVE_REVISION "unknown")
if(GIT_FOUND)
  execute_process(
    COMMAND ${GIT_EXECUTABLE} describe --always --dirty
    WORKING_DIRECTORY ${CMAKE_CURRENT_SOURCE_DIR}
    OUTPUT_VARIABLE revision OUTPUT_STRIP_TRAILING_WHITESPACE ERROR_QUIET
    RESULT_VARIABLE failed)
  if(NOT failed)
    set(TORSOWAVE_REVISION "${revision}")
  endif()
endif()
configure_file(${CMAKE_CURRENT_SOURCE_DIR}/cmake/version.cpp.in
               ${CMAKE_CURRENT_BINARY_DIR}/generated/version.cpp @ONLY)
