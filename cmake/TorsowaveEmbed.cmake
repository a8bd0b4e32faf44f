# torsowave_embed(<target> <symbol> <file>): the bytes of a file in the program, from
# <symbol>_begin to <symbol>_end. By the assembler: as an array in C++ a file of a megabyte would
# take long to compile.
enable_language(ASM)
function(torsowave_embed target symbol file)
  get_filename_component(path ${file} ABSOLUTE)
  set(source ${CMAKE_CURRENT_BINARY_DIR}/embedded/${symbol}.s)
  file(CONFIGURE OUTPUT ${source} @ONLY CONTENT [[
    .section .rodata
    .global @symbol@_begin
    .global @symbol@_end
@symbol@_begin:
    .incbin "@path@"
@symbol@_end:
    .section .note.GNU-stack, "", @progbits
]])
  set_source_files_properties(${source} PROPERTIES LANGUAGE ASM OBJECT_DEPENDS ${path})
  target_sources(${target} PRIVATE ${source})
endfunction()
