// Where the sources lie on this machine: see the header.
//
// The build passes the folder's name.

#include "tests/place.h"

namespace cairn::test {

const char* source_folder() { return CAIRN_SOURCE_DIR; }

}  // namespace cairn::test
