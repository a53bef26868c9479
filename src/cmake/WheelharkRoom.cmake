# A room is a static library whose headers are visible only to the rooms that link it, so that an include
# against the direction of the pipeline does not compile.
#   wheelhark_room(NAME [LINKS targets that are part of the room's interface] [PRIVATE_LINKS ...])
# takes every *.c of the folder.
add_library(wh_options INTERFACE)
target_compile_definitions(wh_options INTERFACE _XOPEN_SOURCE=700)
target_compile_options(wh_options INTERFACE
  -Wall -Wextra -Wconversion -Wshadow -Wvla -Wmissing-prototypes -Wstrict-prototypes -Wundef -Wformat=2
  -fno-math-errno -fno-trapping-math -ffp-contract=off  # no result depends on the first two
  $<$<C_COMPILER_ID:GNU>:-fcx-limited-range>  # complex products need no rescue of infinities: samples are finite
  $<$<BOOL:${WH_WERROR}>:-Werror>)
if(WH_SANITIZE)
  target_compile_options(wh_options INTERFACE -fsanitize=${WH_SANITIZE} -fno-omit-frame-pointer -fno-sanitize-recover=all)
  target_link_options(wh_options INTERFACE -fsanitize=${WH_SANITIZE})
endif()
if(WH_FUZZ)
  target_compile_options(wh_options INTERFACE -fsanitize=fuzzer-no-link)
endif()
target_link_libraries(wh_options INTERFACE m)

function(wheelhark_room NAME)
  cmake_parse_arguments(ROOM "" "" "LINKS;PRIVATE_LINKS" ${ARGN})
  file(GLOB sources CONFIGURE_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/*.c)
  if(NOT sources)  # a room of headers only
    add_library(wh_${NAME} INTERFACE)
    target_include_directories(wh_${NAME} INTERFACE ${CMAKE_CURRENT_SOURCE_DIR} ${PROJECT_SOURCE_DIR}/include)
    target_link_libraries(wh_${NAME} INTERFACE ${ROOM_LINKS} ${ROOM_PRIVATE_LINKS})
    return()
  endif()
  add_library(wh_${NAME} STATIC ${sources})
  target_include_directories(wh_${NAME} PUBLIC ${CMAKE_CURRENT_SOURCE_DIR} ${PROJECT_SOURCE_DIR}/include)
  target_link_libraries(wh_${NAME} PUBLIC ${ROOM_LINKS} PRIVATE wh_options ${ROOM_PRIVATE_LINKS})
endfunction()
