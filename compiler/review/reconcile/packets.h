// Verification reports as the station sends them: telemetry packets of CCSDS 133.0-B with service 1 of
// ECSS-E-ST-70-41C. docs/uplink-format.md has their layout and says what of it is from memory.

#pragma once

#include "compiler/review/reconcile/reports.h"
#include "constraints/station/station.h"

namespace cairn {

struct ReportPackets {
  std::vector<VerificationReport> reports;
  // Packets of other services, idle ones, and reports on what other applications were asked.
  std::size_t others = 0;
};

// Packets one after another, with nothing between them. The error is one sentence that names the octet.
std::expected<ReportPackets, std::string> read_report_packets(std::string_view octets,
                                                              const Station& station);

}  // namespace cairn
