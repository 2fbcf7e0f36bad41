// The worked example of docs/uplink-format.md is what the encoder makes, octet by octet.

#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "compiler/uplink/decoder/decoder.h"
#include "compiler/uplink/packet.h"
#include "tests/place.h"

namespace cairn {
namespace {

std::string spaced_hex(const Bytes& bytes) {
  constexpr const char* digits = "0123456789ABCDEF";
  std::string text;
  for (const std::uint8_t byte : bytes) {
    if (!text.empty()) text += ' ';
    text += digits[byte >> 4U];
    text += digits[byte & 15U];
  }
  return text;
}

// The page's text with every run of white space as one space, so that an example may be broken into lines.
std::string page() {
  std::ifstream file(std::string(cairn::test::source_folder()) + "/docs/uplink-format.md");
  std::string text;
  for (std::string word; file >> word;) text += word + ' ';
  return text;
}

TEST(FormatPage, ShowsWhatTheEncoderMakes) {
  Station station;
  station.link.application_id = 291;
  station.link.source_id = 1;
  CommandDefinition expose;
  expose.unit = station.units.add({"camera", "", {}, no_origin});
  expose.number = 85;
  expose.arguments.resize(3);
  expose.arguments[0].encoding.width = 16;
  expose.arguments[0].encoding.step = 0.001;
  const CommandId command = station.commands.add(expose);
  const LeapSecondTable& leap_seconds = published_leap_seconds();
  const Instant time = parse_utc("2031-05-14T06:00:00.5Z", leap_seconds).value();

  const std::string text = page();
  ASSERT_FALSE(text.empty()) << "docs/uplink-format.md is missing";
  const Bytes request = request_packet(station, {time, command, {{0.02, 20}, {3, 3}, {0, 0}}}, 66);
  const Bytes insert = insert_packet(station, time, request, 67, leap_seconds);
  StationClock day_segmented;
  day_segmented.time_code = TimeCodeForm::DaySegmented;
  for (const Bytes& bytes :
       {request, insert, delete_packet(station, 66, 68), time_code(day_segmented, time, leap_seconds)}) {
    EXPECT_NE(text.find(spaced_hex(bytes)), std::string::npos)
        << "expected on the page: " << spaced_hex(bytes);
  }
}

}  // namespace
}  // namespace cairn
