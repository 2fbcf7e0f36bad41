// Octet by octet; every length is looked at before what it covers.

#include "compiler/review/reconcile/packets.h"

#include <fmt/format.h>

#include "compiler/uplink/checksum.h"

namespace cairn {

namespace {

using Problem = std::unexpected<std::string>;

constexpr std::size_t primary_header = 6;
constexpr std::size_t before_time = 7;  // header version to destination
constexpr std::size_t error_control = 2;
constexpr std::size_t request_size = 4;
constexpr std::uint16_t idle_application = 0x7FF;
constexpr unsigned header_version = 2;
constexpr unsigned verification_service = 1;
constexpr unsigned unsegmented = 3;
constexpr std::size_t longest = std::size_t{64} << 20U;

// The time as the station writes it in time tags.
std::size_t time_size(const StationClock& clock) {
  constexpr std::size_t day_segmented = 8;
  constexpr int coarse_in_one = 4;
  constexpr int fine_in_one = 3;
  if (clock.time_code == TimeCodeForm::DaySegmented) return day_segmented + (clock.preamble ? 1U : 0U);
  const bool is_extended = clock.coarse_octets > coarse_in_one || clock.fine_octets > fine_in_one;
  const std::size_t preamble = clock.preamble ? (is_extended ? 2U : 1U) : 0U;
  return preamble + static_cast<std::size_t>(clock.coarse_octets) +
         static_cast<std::size_t>(clock.fine_octets);
}

class Reader {
 public:
  Reader(std::string_view octets, const Station& station) : octets_(octets), station_(station) {}

  std::expected<ReportPackets, std::string> all() {
    while (at_ < octets_.size()) {
      if (octets_.size() - at_ <= primary_header) {
        return wrong(0, fmt::format("a packet has at least 7 octets, and {} are left", octets_.size() - at_));
      }
      const std::size_t size = primary_header + 1 + sixteen(4);
      if (octets_.size() - at_ < size) {
        return wrong(4, fmt::format("the packet has {} octets by its length, and {} are left", size,
                                    octets_.size() - at_));
      }
      const std::string_view packet = octets_.substr(at_, size);
      if (auto good = one(packet); !good) return std::unexpected(std::move(good.error()));
      at_ += size;
    }
    return std::move(result_);
  }

 private:
  [[nodiscard]] unsigned octet(std::size_t offset) const {
    return static_cast<unsigned char>(octets_[at_ + offset]);
  }
  [[nodiscard]] unsigned sixteen(std::size_t offset) const { return octet(offset) << 8U | octet(offset + 1); }
  [[nodiscard]] Problem wrong(std::size_t offset, const std::string& sentence) const {
    return Problem(fmt::format("octet {}: {}", at_ + offset, sentence));
  }

  std::expected<void, std::string> one(std::string_view packet) {
    const unsigned first = sixteen(0);
    if (first >> 13U != 0) return wrong(0, fmt::format("a packet of version {}, expected 0", first >> 13U));
    if ((first >> 12U & 1U) != 0) return wrong(0, "a telecommand, expected telemetry");
    const bool has_header = (first >> 11U & 1U) != 0;
    if (!has_header || (first & 0x7FFU) == idle_application) return other();
    const unsigned flags = octet(2) >> 6U;
    // A later part has no header of its own that would tell its service.
    if (flags == 0 || flags == 2) return other();
    if (packet.size() < primary_header + before_time + error_control)
      return wrong(4, "too short for the header that it says it has");
    if (octet(6) >> 4U != header_version) {
      return wrong(
          6, fmt::format("a telemetry header of version {}, expected {}", octet(6) >> 4U, header_version));
    }
    const auto* data = reinterpret_cast<const std::uint8_t*>(packet.data());
    if (crc16_plain(data, packet.size()) != 0) {
      return wrong(packet.size() - error_control,
                   fmt::format("the error control is {:04X}, and the octets give {:04X}",
                               sixteen(packet.size() - error_control),
                               crc16_plain(data, packet.size() - error_control)));
    }
    if (octet(7) != verification_service) return other();
    if (flags != unsegmented) return wrong(2, "a report in several parts, expected a whole one");
    return report(packet);
  }

  std::expected<void, std::string> report(std::string_view packet) {
    const unsigned subtype = octet(8);
    constexpr unsigned last_pair = 8;
    constexpr unsigned not_routed = 10;  // it never came to the application that it was for
    if (subtype == 0 || (subtype > last_pair && subtype != not_routed))
      return wrong(8, fmt::format("subtype {} of service 1, expected 1 to 8 or 10", subtype));
    const std::size_t request_at = primary_header + before_time + time_size(station_.clock);
    if (packet.size() < request_at + request_size + error_control)
      return wrong(4, "too short for a time and the request that it reports on");
    const unsigned request = sixteen(request_at);
    const unsigned control = sixteen(request_at + 2);
    if (request >> 12U != 1U) return wrong(request_at, "the request that it reports on is no telecommand");
    VerificationReport found;
    found.sequence_count = static_cast<std::uint16_t>(control & 0x3FFFU);
    found.stage =
        subtype == not_routed ? ReportStage::Acceptance : static_cast<ReportStage>((subtype - 1) / 2);
    found.is_success = subtype != not_routed && subtype % 2 == 1;
    const std::string_view rest =
        packet.substr(request_at + request_size, packet.size() - request_at - request_size - error_control);
    const bool has_rest = !found.is_success || found.stage == ReportStage::Progress;
    if (has_rest == rest.empty()) {
      return wrong(request_at + request_size,
                   has_rest ? "nothing after the request, expected a step or a failure notice"
                            : fmt::format("{} octets after the request, expected none", rest.size()));
    }
    if ((request & 0x7FFU) != station_.link.application_id) return other();
    if (has_rest) {
      found.detail = found.is_success                       ? "step"
                     : found.stage == ReportStage::Progress ? "step and failure notice"
                                                            : "failure notice";
      for (const char c : rest) found.detail += fmt::format(" {:02X}", static_cast<unsigned char>(c));
    }
    result_.reports.push_back(std::move(found));
    return {};
  }

  std::expected<void, std::string> other() {
    ++result_.others;
    return {};
  }

  std::string_view octets_;
  const Station& station_;
  std::size_t at_ = 0;
  ReportPackets result_;
};

}  // namespace

std::expected<ReportPackets, std::string> read_report_packets(std::string_view octets,
                                                              const Station& station) {
  if (octets.size() > longest) return std::unexpected(std::string("the reports are larger than 64 MiB"));
  return Reader(octets, station).all();
}

}  // namespace cairn
