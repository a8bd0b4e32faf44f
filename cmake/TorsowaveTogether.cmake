# torsowave_compile_together(<target> <file without .cpp>...): as one translation unit, where the
# build precompiles headers. Half of a small file's time are its headers, and a run of all tests
# is mostly compiling. What stands in unnamed namespaces must then have names of its own among the
# files of a group; other builds (dev, tidy) compile each file alone.
function(torsowave_compile_together target)
  if(NOT TORSOWAVE_PRECOMPILE)
    return()
  endif()
  set_target_properties(${target} PROPERTIES UNITY_BUILD ON UNITY_BUILD_MODE GROUP)
  set(files ${ARGN})
  list(GET files 0 group)
  list(TRANSFORM files APPEND .cpp)
  list(TRANSFORM files PREPEND "${CMAKE_CURRENT_SOURCE_DIR}/")
  set_source_files_properties(${files} TARGET_DIRECTORY ${target} PROPERTIES UNITY_GROUP ${group})
endfunction()
