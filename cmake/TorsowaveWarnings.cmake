# Warnings are errors; the target is private, so a user's project never inherits them.
add_library(torsowave_warnings INTERFACE)
target_compile_options(
  torsowave_warnings
  INTERFACE -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wdouble-promotion
            -Wnon-virtual-dtor -Woverloaded-virtual -Wcast-align -Wformat=2 -Werror)
if(TORSOWAVE_SANITIZE)
  # Without null, which the address sanitizer reports when it is used, and vptr: both cost a check
  # at every member and call, a tenth of the build and of the tests.
  target_compile_options(
    torsowave_warnings INTERFACE -fsanitize=${TORSOWAVE_SANITIZE} -fno-omit-frame-pointer
                                 -fno-sanitize-recover=all -fno-sanitize=null,vptr)
  target_link_options(torsowave_warnings INTERFACE -fsanitize=${TORSOWAVE_SANITIZE})
endif()

# torsowave_compile_quickly(<target>): code without inner loops of its own. A run of all tests is
# mostly compiling. Half optimised, GCC 12 takes arrays that are written by their constructors for
# uninitialized.
function(torsowave_compile_quickly target)
  target_compile_options(
    ${target} PRIVATE $<$<CXX_COMPILER_ID:GNU>:-Wno-maybe-uninitialized>)
  if(TORSOWAVE_SANITIZE AND NOT TORSOWAVE_FUZZ)
    target_compile_options(${target} PRIVATE -O0)
  elseif(CMAKE_BUILD_TYPE STREQUAL "Release")
    target_compile_options(${target} PRIVATE -O1)
  endif()
endfunction()

# torsowave_check_memory_alone(<target>): not for undefined behaviour, which takes a quarter of the
# time to compile. For tests, and for the program's own layer; what the fuzzers reach of that is
# checked for both.
function(torsowave_check_memory_alone target)
  if(TORSOWAVE_SANITIZE MATCHES "undefined" AND NOT TORSOWAVE_FUZZ)
    target_compile_options(${target} PRIVATE -fno-sanitize=undefined)
  endif()
endfunction()
