// Holds the headers that nearly every test reads, compiled once for all test programs.
//
// tests/CMakeLists.txt lists them.
