# Everything comes from the system's packages; scripts/packages lists them.
find_package(OpenMP REQUIRED COMPONENTS CXX)
find_package(fmt REQUIRED)
find_package(Eigen3 REQUIRED NO_MODULE)
find_package(nlohmann_json REQUIRED)
find_package(yaml-cpp REQUIRED)
find_package(HDF5 REQUIRED COMPONENTS C HL)  # HL: dimension scales
find_package(PkgConfig REQUIRED)
pkg_check_modules(STB REQUIRED IMPORTED_TARGET stb)
pkg_check_modules(CAIRO REQUIRED IMPORTED_TARGET cairo-pdf cairo-ft freetype2)
find_package(PNG REQUIRED)
find_package(ZLIB REQUIRED)  # check sums of checkpoints and of pictures read
find_package(CLI11 REQUIRED)
find_package(FlintArb REQUIRED)  # cmake/FindFlintArb.cmake
find_package(Nifti REQUIRED)  # cmake/FindNifti.cmake

# Packaged targets as system headers, so that our warnings stay about our code.
add_library(torsowave_yaml INTERFACE)
target_link_libraries(torsowave_yaml INTERFACE yaml-cpp)
add_library(torsowave_hdf5 INTERFACE)
target_include_directories(torsowave_hdf5 SYSTEM INTERFACE ${HDF5_C_INCLUDE_DIRS})
target_link_libraries(torsowave_hdf5 INTERFACE ${HDF5_C_HL_LIBRARIES} ${HDF5_C_LIBRARIES})
add_library(torsowave_stb INTERFACE)
target_link_libraries(torsowave_stb INTERFACE PkgConfig::STB)
add_library(torsowave_cairo INTERFACE)
target_link_libraries(torsowave_cairo INTERFACE PkgConfig::CAIRO)
