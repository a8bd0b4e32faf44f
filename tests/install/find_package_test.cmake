# Installs the build into an empty prefix, moves the prefix, and builds and runs a foreign project
# there.
# Set by the caller: build_tree, consumer, work, generator.
function(run)
  execute_process(COMMAND ${ARGN} COMMAND_ERROR_IS_FATAL ANY)
endfunction()

file(REMOVE_RECURSE ${work})
file(MAKE_DIRECTORY ${work})
run(${CMAKE_COMMAND} --install ${build_tree} --prefix ${work}/first)
file(RENAME ${work}/first ${work}/prefix)  # the package must not depend on where it was put
run(${CMAKE_COMMAND} -S ${consumer} -B ${work}/build -G ${generator}
    -D CMAKE_BUILD_TYPE=Release -D CMAKE_PREFIX_PATH=${work}/prefix)
run(${CMAKE_COMMAND} --build ${work}/build)
execute_process(COMMAND ${work}/build/muscle OUTPUT_VARIABLE output COMMAND_ERROR_IS_FATAL ANY)
message("${output}")

# Muscle at 2.45 GHz: eps' 52.73, sigma 1.74 S/m (D. Andreuccetti, R. Fossi, C. Petrucci,
# IFAC-CNR, Florence, 1997, four-term model: 52.731 and 1.7381 S/m at 2.4491 GHz).
if(NOT output MATCHES "permittivity 52\\.7[0-9]+, conductivity 1\\.7[34][0-9]* S/m")
  message(FATAL_ERROR "the consumer printed something else than muscle's permittivity")
endif()

# 1 A in permittivity 53, 1.7 S/m (12.473 for eps'') at 2.45 GHz, 50 mm away: 99.68 V/m, the
# project's check value LINE-mus2450 (computed).
if(NOT output MATCHES "line source: 99\\.[67][0-9] V/m")
  message(FATAL_ERROR "the consumer's line source has another field")
endif()
