# Library, public headers, program and ready-made scenarios; find_package(torsowave) gives
# torsowave::torsowave to other projects.
include(CMakePackageConfigHelpers)
include(TorsowavePublicHeaders)

torsowave_public_headers(public_headers)
foreach(header IN LISTS public_headers)
  get_filename_component(folder ${header} DIRECTORY)
  install(FILES ${header} DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}/torsowave/${folder})
endforeach()

install(TARGETS torsowave EXPORT torsowaveTargets ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR}
        LIBRARY DESTINATION ${CMAKE_INSTALL_LIBDIR})
get_property(app_targets DIRECTORY app PROPERTY BUILDSYSTEM_TARGETS)
foreach(target IN LISTS app_targets)
  get_target_property(type ${target} TYPE)
  if(type STREQUAL "EXECUTABLE")
    install(TARGETS ${target} RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
  endif()
endforeach()
install(DIRECTORY scenarios/ DESTINATION ${CMAKE_INSTALL_DATADIR}/torsowave/scenarios
        FILES_MATCHING PATTERN "*.yaml")
install(FILES LICENSE NOTICE CHANGELOG.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES third_party/echarts/LICENSE third_party/echarts/LICENSE-d3 third_party/echarts/NOTICE
        DESTINATION ${CMAKE_INSTALL_DOCDIR}/echarts)

set(config_folder ${CMAKE_INSTALL_LIBDIR}/cmake/torsowave)
install(EXPORT torsowaveTargets NAMESPACE torsowave:: DESTINATION ${config_folder})
configure_package_config_file(
  ${PROJECT_SOURCE_DIR}/cmake/torsowaveConfig.cmake.in
  ${PROJECT_BINARY_DIR}/torsowaveConfig.cmake INSTALL_DESTINATION ${config_folder})
write_basic_package_version_file(
  ${PROJECT_BINARY_DIR}/torsowaveConfigVersion.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${PROJECT_BINARY_DIR}/torsowaveConfig.cmake
              ${PROJECT_BINARY_DIR}/torsowaveConfigVersion.cmake
              ${PROJECT_SOURCE_DIR}/cmake/FindFlintArb.cmake
              ${PROJECT_SOURCE_DIR}/cmake/FindNifti.cmake DESTINATION ${config_folder})
