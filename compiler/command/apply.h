// Corrections that diagnostics carry, applied to the files they are about.

#pragma once

#include <map>
#include <string>

#include "compiler/text/diagnostic.h"

namespace cairn {

// The texts that change, by file: of each diagnostic its first correction of an allowed kind. Of two that
// overlap the first counts. Only errors and warnings in `.cairn` files.
std::map<FileId, std::string> corrected(const SourceFiles& files, const Diagnostics& diagnostics,
                                        bool guesses, std::size_t& applied);

}  // namespace cairn
