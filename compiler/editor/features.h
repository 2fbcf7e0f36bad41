// What the server can tell about a place: one function each, from an analysis to an answer.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "compiler/editor/answers.h"
#include "compiler/editor/names.h"
#include "compiler/editor/workspace.h"

namespace cairn {

// hover.cpp
std::optional<HoverAnswer> hover(const Analysis& analysis, const std::vector<NameUse>& names, FileId file,
                                 std::uint32_t offset, const LeapSecondTable& leap_seconds);
// dictionary_words.cpp: Markdown about things of the station
std::string unit_words(const Station& station, UnitId unit);
std::string part_words(const Station& station, PartId part);
std::string state_words(const Station& station, StateId state);
std::string command_words(const Station& station, CommandId command);
std::string argument_words(const Station& station, CommandId command, std::uint32_t argument);

// complete.cpp
std::vector<CompletionItem> complete(const Analysis& analysis, FileId file, std::uint32_t offset,
                                     const std::vector<std::string>& stations,
                                     const std::vector<std::string>& modules);

// outline.cpp
std::vector<SymbolNode> outline(const Analysis& analysis, FileId file);
// Five numbers a token, as the protocol counts them.
std::vector<std::uint32_t> semantic_tokens(const Analysis& analysis, const std::vector<NameUse>& names,
                                           FileId file);

// hints.cpp: resolved times beside commands and marks, the least margins beside the load
std::vector<InlayHint> inlay_hints(const Analysis& analysis, FileId file, TextRange range,
                                   const LeapSecondTable& leap_seconds);

// Predictions at an instant, as lines of Markdown.
std::string predicted_words(const Analysis& analysis, Instant time);

}  // namespace cairn
