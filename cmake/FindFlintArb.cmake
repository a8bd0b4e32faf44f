# FLINT with Arb, which is a library of its own before FLINT 3. Gives FlintArb::FlintArb. Neither
# installs a package file.
find_library(FlintArb_FLINT_LIBRARY NAMES flint)
find_library(FlintArb_ARB_LIBRARY NAMES flint-arb arb)
find_path(FlintArb_INCLUDE_DIR NAMES acb_hypgeom.h PATH_SUFFIXES flint)
mark_as_advanced(FlintArb_FLINT_LIBRARY FlintArb_ARB_LIBRARY FlintArb_INCLUDE_DIR)

include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(FlintArb REQUIRED_VARS FlintArb_FLINT_LIBRARY
                                                         FlintArb_INCLUDE_DIR)
if(FlintArb_FOUND AND NOT TARGET FlintArb::FlintArb)
  add_library(FlintArb::FlintArb INTERFACE IMPORTED)
  target_include_directories(FlintArb::FlintArb SYSTEM INTERFACE ${FlintArb_INCLUDE_DIR})
  target_link_libraries(FlintArb::FlintArb INTERFACE ${FlintArb_FLINT_LIBRARY})
  if(FlintArb_ARB_LIBRARY)
    # Before FLINT, which it uses.
    set_property(TARGET FlintArb::FlintArb PROPERTY INTERFACE_LINK_LIBRARIES
                 ${FlintArb_ARB_LIBRARY} ${FlintArb_FLINT_LIBRARY})
  endif()
endif()
