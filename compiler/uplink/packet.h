// The packets of the uplink, octet by octet.
//
// Primary header: CCSDS 133.0-B-2 section 4.1.3. Secondary header and services 11 and 128: ECSS-E-ST-70-41C
// (the telecommand header's layout 4 + 4 + 8 + 8 + 16 bits is from memory of section 7.4.4.1).
// docs/uplink-format.md has the tables.

#pragma once

#include "compiler/uplink/uplink.h"

namespace cairn {

// The command's own request packet: service 128, subtype 1, command number and packed arguments.
Bytes request_packet(const Station& station, const TimedCommand& command, std::uint16_t sequence_count);

// Service 11, subtype 4: one activity, its execution time and its request packet.
Bytes insert_packet(const Station& station, Instant time, const Bytes& request, std::uint16_t sequence_count,
                    const LeapSecondTable& leap_seconds);

// Service 11, subtype 5: withdraws the request with this sequence count.
Bytes delete_packet(const Station& station, std::uint16_t target, std::uint16_t sequence_count);

// The execution time in the station's CCSDS 301.0-B code, with its preamble where the station wants one.
Bytes time_code(const StationClock& clock, Instant time, const LeapSecondTable& leap_seconds);

// Their lengths, which hang on the command and the clock alone.
std::size_t request_octets(const CommandDefinition& command);
std::size_t insert_octets(const StationClock& clock, const CommandDefinition& command);
std::size_t delete_octets();
std::size_t time_code_octets(const StationClock& clock);

}  // namespace cairn
