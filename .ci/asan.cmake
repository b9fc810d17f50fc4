# Initial cache: cmake -C .ci/asan.cmake -S . -B build-asan
# Address and undefined-behaviour sanitizers; every finding ends the program.
set(CMAKE_CXX_FLAGS_DEBUG "" CACHE STRING "" FORCE)
set(CMAKE_CXX_FLAGS_RELEASE "" CACHE STRING "" FORCE) # else its -O2 would win
set(CMAKE_CXX_FLAGS "-O1 -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer" CACHE STRING "")
set(CMAKE_EXE_LINKER_FLAGS "-fuse-ld=lld" CACHE STRING "") # a seventh of the time for the largest test program
# Lines are left out and benches not built, since this build alone takes a third of the long run; -g1 names lines where something was found.
set(MK_BENCHES OFF CACHE BOOL "")
# Instrumented code draws false "maybe uninitialized" warnings; the plain build has them as errors.
set(MK_WARNINGS_ARE_ERRORS OFF CACHE BOOL "")
