# liquid-dsp ships neither a pkg-config file nor a CMake package.
find_path(LIQUID_INCLUDE_DIR liquid/liquid.h)
find_library(LIQUID_LIBRARY liquid)
include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(Liquid REQUIRED_VARS LIQUID_LIBRARY LIQUID_INCLUDE_DIR)
if(Liquid_FOUND AND NOT TARGET Liquid::liquid)
  add_library(Liquid::liquid UNKNOWN IMPORTED)
  set_target_properties(Liquid::liquid PROPERTIES IMPORTED_LOCATION ${LIQUID_LIBRARY}
    INTERFACE_INCLUDE_DIRECTORIES ${LIQUID_INCLUDE_DIR})
endif()
mark_as_advanced(LIQUID_INCLUDE_DIR LIQUID_LIBRARY)
