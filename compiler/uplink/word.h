// Command words, for stations whose decoders are simple: address, its complement, kind, body, check.
//
// A request is a row of words: one that says what is asked of which command number, data words with the time
// tag and the arguments, and one that closes the row with a sum over the bodies. docs/uplink-format.md has
// the tables.

#pragma once

#include "compiler/uplink/uplink.h"

namespace cairn {

// An immediate command's time tag is zero. Every word once; `repeat_words` gives what goes on air.
Bytes load_words(const Station& station, const TimedCommand& command, const LeapSecondTable& leap_seconds);
Bytes withdraw_words(const Station& station, const TimedCommand& command,
                     const LeapSecondTable& leap_seconds);

Bytes repeat_words(const WordLayout& layout, const Bytes& words);

// What the command takes in the table: number, time tag and arguments, in whole octets.
std::uint32_t word_entry_octets(const Station& station, const CommandDefinition& command);

}  // namespace cairn
