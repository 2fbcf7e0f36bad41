// Where the sources lie on this machine.
//
// The folder's name is compiled into one small file, so that all other objects are the same in every checkout
// and a compiler cache serves them all.

#pragma once

namespace cairn::test {

// The project's root, without a slash at its end.
const char* source_folder();

}  // namespace cairn::test
