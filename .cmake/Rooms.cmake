# One library per room. A room sees only the rooms it names under DEPENDS: their include folders
# are the same, but the link line and tests/layers hold the graph, which the layers.txt of each wing lists.
#
#   add_room(quantity SOURCES a.cpp b.cpp HEADERS a.h b.h DEPENDS other_room PRIVATE_DEPENDS lib APART a.cpp)
#
# The preset `dev` compiles the sources of a room together, some at a time, for most of a source's cost is in the headers
# that its neighbours read too. APART names those that cannot: their own helpers have names that a neighbour's have.

find_program(CAIRN_CCACHE ccache)
if(CAIRN_CCACHE AND NOT CMAKE_CXX_COMPILER_LAUNCHER)
  set(CMAKE_CXX_COMPILER_LAUNCHER "${CAIRN_CCACHE}" CACHE STRING "" FORCE)
endif()

set(CAIRN_WARNINGS -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wsign-conversion
    -Wnon-virtual-dtor -Wold-style-cast -Woverloaded-virtual -Wimplicit-fallthrough
    # GCC 12 sees uninitialised variants where there are none (its bug 105562 and kin), and at -O2 maps inside
    # variants beyond their bounds; clang-tidy and the sanitizers look after the real ones.
    $<$<CXX_COMPILER_ID:GNU>:-Wno-maybe-uninitialized> $<$<CXX_COMPILER_ID:GNU>:-Wno-array-bounds>)

function(cairn_own_code target)
  target_compile_options(${target} PRIVATE ${CAIRN_WARNINGS})
  if(CAIRN_WARNINGS_AS_ERRORS)
    target_compile_options(${target} PRIVATE -Werror)
  endif()
  if(CAIRN_SANITIZE)
    target_compile_options(${target} PUBLIC -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer)
    target_link_options(${target} PUBLIC -fsanitize=address,undefined)
  endif()
endfunction()

function(add_room name)
  cmake_parse_arguments(ROOM "" "" "SOURCES;HEADERS;DEPENDS;PRIVATE_DEPENDS;APART" ${ARGN})
  set_source_files_properties(${ROOM_APART} PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
  if(ROOM_SOURCES)
    add_library(cairn_${name} STATIC ${ROOM_SOURCES})
    set(scope PUBLIC)
    cairn_own_code(cairn_${name})
  else()
    add_library(cairn_${name} INTERFACE)
    set(scope INTERFACE)
  endif()
  target_include_directories(cairn_${name} ${scope} "${PROJECT_SOURCE_DIR}")
  if(ROOM_HEADERS)
    target_sources(cairn_${name} ${scope} FILE_SET HEADERS BASE_DIRS "${PROJECT_SOURCE_DIR}" FILES ${ROOM_HEADERS})
  endif()
  foreach(room IN LISTS ROOM_DEPENDS)
    target_link_libraries(cairn_${name} ${scope} cairn_${room})
  endforeach()
  if(ROOM_PRIVATE_DEPENDS)
    target_link_libraries(cairn_${name} PRIVATE ${ROOM_PRIVATE_DEPENDS})
  endif()
endfunction()
