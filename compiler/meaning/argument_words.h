// Arguments in the words of messages: values in the unit the station file gives, what may be written, an
// example.
//
// What a message tells to write can be written: every value here reads back as itself.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "compiler/syntax/tree.h"
#include "compiler/text/diagnostic.h"
#include "constraints/station/station.h"

namespace cairn {

// "15 s", "3", "open": a value of the argument as one would write it.
std::string written_value(const ArgumentDefinition& definition, double number);
// "0 m .. 1.6 m", "`open`, `closed`", "true or false".
std::string accepted_values(const ArgumentDefinition& definition);
// "position=open": something that is accepted.
std::string example_argument(const ArgumentDefinition& definition);

// The values next to `number` that can be sent, the lower first; none when it can be sent itself.
std::vector<double> nearest_steps(const ArgumentDefinition& definition, double number);
// "10 s"
std::string written_step(const ArgumentDefinition& definition);

// "did you mean ...?", or what there is, or `none` when there is nothing.
void suggest_word(DiagnosticBuilder builder, const Word& word, const std::vector<std::string>& known,
                  const std::string& none);

}  // namespace cairn
