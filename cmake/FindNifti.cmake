# The NIfTI-1 library (niftiio with znz). Gives Nifti::niftiio. It installs no package file.
find_library(Nifti_IO_LIBRARY NAMES niftiio)
find_library(Nifti_ZNZ_LIBRARY NAMES znz)
find_path(Nifti_INCLUDE_DIR NAMES nifti1_io.h PATH_SUFFIXES nifti)
mark_as_advanced(Nifti_IO_LIBRARY Nifti_ZNZ_LIBRARY Nifti_INCLUDE_DIR)

include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(Nifti REQUIRED_VARS Nifti_IO_LIBRARY Nifti_ZNZ_LIBRARY
                                                      Nifti_INCLUDE_DIR)
if(Nifti_FOUND AND NOT TARGET Nifti::niftiio)
  add_library(Nifti::niftiio INTERFACE IMPORTED)
  target_include_directories(Nifti::niftiio SYSTEM INTERFACE ${Nifti_INCLUDE_DIR})
  target_link_libraries(Nifti::niftiio INTERFACE ${Nifti_IO_LIBRARY} ${Nifti_ZNZ_LIBRARY})
endif()
