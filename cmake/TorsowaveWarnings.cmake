# Warnings are errors; the target is private, so a user's project never inherits them.
add_library(torsowave_warnings INTERFACE)
target_compile_options(
  torsowave_warnings
  INTERFACE -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wdouble-promotion
            -Wnon-virtual-dtor -Woverloaded-virtual -Wcast-align -Wformat=2 -Werror)
if(TORSOWAVE_SANITIZE)
  target_compile_options(
    torsowave_warnings INTERFACE -fsanitize=${TORSOWAVE_SANITIZE} -fno-omit-frame-pointer
                                 -fno-sanitize-recover=all)
  target_link_options(torsowave_warnings INTERFACE -fsanitize=${TORSOWAVE_SANITIZE})
endif()
