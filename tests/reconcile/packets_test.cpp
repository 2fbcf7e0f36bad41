// Verification reports in packets: octets by hand, what a second encoder made up, and what was cut or
// changed.
//
// Layouts: primary header CCSDS 133.0-B-2 section 4.1.3; telemetry header (4 + 4 + 8 + 8 + 16 + 16 bits and
// the time) and service 1 of ECSS-E-ST-70-41C, from memory. The request in the examples is the published
// telecommand header 1923 C042 (reference list: application 0x123, count 0x42, unsegmented). Error controls
// were computed by another program: Python 3.11, binascii.crc_hqx(octets, 0xFFFF).

#include "compiler/review/reconcile/packets.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

namespace cairn {
namespace {

using ::testing::HasSubstr;

Station station_of(std::uint16_t application = 0x123) {
  Station station;
  station.link.application_id = application;
  return station;
}

std::string octets_of(std::string_view text) {
  std::string octets;
  int high = -1;
  for (const char c : text) {
    if (c == ' ') continue;
    const int digit = c <= '9' ? c - '0' : c - 'A' + 10;
    if (high < 0) {
      high = digit;
    } else {
      octets.push_back(static_cast<char>(high * 16 + digit));
      high = -1;
    }
  }
  return octets;
}

std::expected<ReportPackets, std::string> read(std::string_view text, const Station& station = station_of()) {
  return read_report_packets(octets_of(text), station);
}

constexpr const char* accepted =
    "09 23 C0 05 00 13 20 01 01 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42 A7 21";
constexpr const char* not_accepted =
    "09 23 C0 05 00 15 20 01 02 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42 00 05 3C 0B";

TEST(ReportPackets, ByHand) {
  const struct {
    const char* octets;
    ReportStage stage;
    bool is_success;
    const char* detail;
  } rows[] = {
      {accepted, ReportStage::Acceptance, true, ""},
      {not_accepted, ReportStage::Acceptance, false, "failure notice 00 05"},
      {"09 23 C0 05 00 13 20 01 03 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42 E7 48", ReportStage::Start,
       true, ""},
      {"09 23 C0 05 00 14 20 01 05 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42 01 3F BD",
       ReportStage::Progress, true, "step 01"},
      {"09 23 C0 05 00 16 20 01 06 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42 01 00 05 9A C8",
       ReportStage::Progress, false, "step and failure notice 01 00 05"},
      {"09 23 C0 05 00 14 20 01 08 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42 09 6A CF",
       ReportStage::Completion, false, "failure notice 09"},
      {"09 23 C0 05 00 14 20 01 0A 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42 03 EA 41",
       ReportStage::Acceptance, false, "failure notice 03"},
  };
  for (const auto& row : rows) {
    const auto found = read(row.octets);
    ASSERT_TRUE(found) << found.error();
    ASSERT_EQ(found->reports.size(), 1U) << row.octets;
    EXPECT_EQ(found->reports[0].sequence_count, 0x42);
    EXPECT_EQ(found->reports[0].stage, row.stage) << row.octets;
    EXPECT_EQ(found->reports[0].is_success, row.is_success) << row.octets;
    EXPECT_EQ(found->reports[0].detail, row.detail);
    EXPECT_EQ(found->others, 0U);
  }
  // A station whose time is day-segmented: two octets more.
  Station other = station_of();
  other.clock.time_code = TimeCodeForm::DaySegmented;
  const char* completed =
      "09 23 C0 05 00 15 20 01 07 00 07 00 01 41 68 AC 01 49 98 F4 00 00 19 23 C0 42 BF F2";
  const auto found = read(completed, other);
  ASSERT_TRUE(found) << found.error();
  EXPECT_EQ(found->reports.at(0).stage, ReportStage::Completion);
  EXPECT_FALSE(read(completed)) << "with another time it is no report";
}

// Idle packets, packets without a header, and reports on what others were asked are passed over, and counted.
TEST(ReportPackets, OthersArePassedOver) {
  const std::string idle = "07 FF C0 00 00 02 00 00 00 ";
  const std::string time = "00 00 C0 00 00 00 2F ";
  const auto found = read(idle + accepted + " " + time + not_accepted);
  ASSERT_TRUE(found) << found.error();
  EXPECT_EQ(found->reports.size(), 2U);
  EXPECT_EQ(found->others, 2U);
  const auto elsewhere = read(accepted, station_of(0x124));
  ASSERT_TRUE(elsewhere);
  EXPECT_TRUE(elsewhere->reports.empty());
  EXPECT_EQ(elsewhere->others, 1U);
  EXPECT_TRUE(read("")->reports.empty());
}

// ---- a second encoder, bit by bit ----

std::uint16_t remainder_of(const std::string& octets) {
  std::uint16_t state = 0xFFFF;
  for (const char c : octets) {
    for (int bit = 7; bit >= 0; --bit) {
      const bool in = (static_cast<unsigned char>(c) >> bit & 1) != 0;
      const bool out = (state >> 15 & 1) != 0;
      state = static_cast<std::uint16_t>(state << 1);
      if (in != out) state = static_cast<std::uint16_t>(state ^ 0x1021);
    }
  }
  return state;
}

class Bits {
 public:
  Bits& put(std::uint64_t value, int width) {
    for (int bit = width - 1; bit >= 0; --bit) bits_.push_back((value >> bit & 1) != 0);
    return *this;
  }
  [[nodiscard]] std::string octets() const {
    std::string octets;
    for (std::size_t i = 0; i < bits_.size(); i += 8) {
      unsigned octet = 0;
      for (std::size_t k = 0; k < 8; ++k) octet = octet << 1U | (bits_[i + k] ? 1U : 0U);
      octets.push_back(static_cast<char>(octet));
    }
    return octets;
  }

 private:
  std::vector<bool> bits_;
};

std::string with_error_control(const std::string& octets) {
  return octets + Bits().put(remainder_of(octets), 16).octets();
}

std::string encoded(const VerificationReport& report, const Station& station, std::size_t time_octets,
                    const std::string& rest, std::mt19937& random) {
  const int subtype = 1 + 2 * static_cast<int>(report.stage) + (report.is_success ? 0 : 1);
  Bits data;
  data.put(2, 4).put(random() % 16, 4).put(1, 8).put(static_cast<std::uint64_t>(subtype), 8);
  data.put(random() % 65536, 16).put(random() % 65536, 16);
  for (std::size_t i = 0; i < time_octets; ++i) data.put(random() % 256, 8);
  data.put(0, 3).put(1, 1).put(random() % 2, 1).put(station.link.application_id, 11);
  data.put(3, 2).put(report.sequence_count, 14);
  const std::string body = data.octets() + rest;
  Bits head;
  head.put(0, 3).put(0, 1).put(1, 1).put(random() % 2047, 11).put(3, 2).put(random() % 16384, 14);
  head.put(body.size() + 2 - 1, 16);
  return with_error_control(head.octets() + body);
}

TEST(ReportPackets, AsASecondEncoderMakesThem) {
  std::mt19937 random(41);
  for (int round = 0; round < 500; ++round) {
    Station station = station_of(static_cast<std::uint16_t>(random() % 2047));
    station.clock.preamble = random() % 2 == 0;
    std::size_t time = station.clock.preamble ? 1 : 0;
    if (random() % 2 == 0) {
      station.clock.time_code = TimeCodeForm::DaySegmented;
      time += 8;
    } else {
      station.clock.coarse_octets = 1 + static_cast<int>(random() % 7);
      station.clock.fine_octets = static_cast<int>(random() % 7);
      time += static_cast<std::size_t>(station.clock.coarse_octets + station.clock.fine_octets);
      const bool is_long = station.clock.coarse_octets > 4 || station.clock.fine_octets > 3;
      if (station.clock.preamble && is_long) ++time;
    }
    std::vector<VerificationReport> made(random() % 20);
    std::string octets;
    for (VerificationReport& report : made) {
      report.sequence_count = static_cast<std::uint16_t>(random() % 16384);
      report.stage = static_cast<ReportStage>(random() % 4);
      report.is_success = random() % 2 == 0;
      const bool has_rest = !report.is_success || report.stage == ReportStage::Progress;
      std::string rest;
      for (std::size_t n = has_rest ? 1 + random() % 8 : 0; n > 0; --n)
        rest.push_back(static_cast<char>(random() % 256));
      octets += encoded(report, station, time, rest, random);
    }
    const auto found = read_report_packets(octets, station);
    ASSERT_TRUE(found) << found.error();
    ASSERT_EQ(found->reports.size(), made.size());
    EXPECT_EQ(found->others, 0U);
    for (std::size_t i = 0; i < made.size(); ++i) {
      EXPECT_EQ(found->reports[i].sequence_count, made[i].sequence_count);
      EXPECT_EQ(found->reports[i].stage, made[i].stage);
      EXPECT_EQ(found->reports[i].is_success, made[i].is_success);
    }
  }
}

TEST(ReportPackets, EachMistakeIsNamedWithItsOctet) {
  const auto sealed = [](const char* octets) { return with_error_control(octets_of(octets)); };
  const struct {
    std::string octets;
    const char* message;
  } rows[] = {
      {octets_of("29 23 C0 05 00 00 00"), "octet 0: a packet of version 1, expected 0"},
      {octets_of("19 23 C0 42 00 00 00"), "octet 0: a telecommand, expected telemetry"},
      {octets_of("09 23 C0 05 00 00 00"), "octet 4: too short for the header that it says it has"},
      {octets_of("09 23 C0"), "octet 0: a packet has at least 7 octets, and 3 are left"},
      {octets_of("09 23 C0 05 00 13 20 01"),
       "octet 4: the packet has 26 octets by its length, and 8 are left"},
      {octets_of("09 23 C0 05 00 13 20 01 01 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42 A7 22"),
       "octet 24: the error control is A722, and the octets give A721"},
      {octets_of(accepted) + octets_of("09 23 C0 05 00 13 20"), "octet 30: the packet has 26 octets"},
      {octets_of("09 23 C0 05 00 13 10 01 01 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42 A7 21"),
       "octet 6: a telemetry header of version 1, expected 2"},
      {sealed("09 23 C0 05 00 13 20 01 09 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42"),
       "octet 8: subtype 9 of service 1, expected 1 to 8 or 10"},
      {sealed("09 23 C0 05 00 13 20 01 01 00 07 00 01 1E 89 FF 16 85 80 00 09 23 C0 42"),
       "octet 20: the request that it reports on is no telecommand"},
      {sealed("09 23 C0 05 00 13 20 01 02 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42"),
       "octet 24: nothing after the request, expected a step or a failure notice"},
      {sealed("09 23 C0 05 00 14 20 01 01 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42 00"),
       "octet 24: 1 octets after the request, expected none"},
      {sealed("09 23 C0 05 00 12 20 01 01 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0"),
       "octet 4: too short for a time and the request that it reports on"},
      {sealed("09 23 40 05 00 13 20 01 01 00 07 00 01 1E 89 FF 16 85 80 00 19 23 C0 42"),
       "octet 2: a report in several parts, expected a whole one"},
  };
  for (const auto& row : rows) {
    const auto found = read_report_packets(row.octets, station_of());
    ASSERT_FALSE(found) << row.message;
    EXPECT_THAT(found.error(), HasSubstr(row.message));
  }
}

// However it is cut, it is refused, but between two packets; and no single wrong bit goes unnoticed where the
// error control covers it.
TEST(ReportPackets, CutAndChanged) {
  const std::string one = octets_of(accepted);
  const std::string both = one + octets_of(not_accepted);
  for (std::size_t size = 0; size <= both.size(); ++size) {
    const auto found = read_report_packets(std::string_view(both).substr(0, size), station_of());
    const bool is_whole = size == 0 || size == one.size() || size == both.size();
    EXPECT_EQ(found.has_value(), is_whole) << size;
  }
  for (std::size_t bit = 0; bit < one.size() * 8; ++bit) {
    std::string changed = one;
    changed[bit / 8] = static_cast<char>(changed[bit / 8] ^ (1 << (bit % 8)));
    const auto found = read_report_packets(changed, station_of());
    // Without the flag of its header, or as a middle part, it is none of the packets that are looked into.
    EXPECT_TRUE(!found || found->reports.empty()) << "bit " << bit;
  }
  std::mt19937 random(7);
  for (int round = 0; round < 20'000; ++round) {
    std::string noise(random() % 80, '\0');
    for (char& octet : noise) octet = static_cast<char>(random() % 256);
    if (!noise.empty() && random() % 2 == 0) noise[0] = static_cast<char>(noise[0] & 0x0F);
    if (noise.size() > 5 && random() % 2 == 0) {
      noise[4] = 0;
      noise[5] = static_cast<char>(random() % 40);
    }
    (void)read_report_packets(noise, station_of());
  }
}

}  // namespace
}  // namespace cairn
