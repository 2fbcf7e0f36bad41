// The worked example of docs/uplink-format.md is what the encoder makes, octet by octet.

#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "compiler/uplink/decoder/decoder.h"
#include "compiler/uplink/frame.h"
#include "compiler/uplink/link_unit.h"
#include "compiler/uplink/packet.h"
#include "compiler/uplink/word.h"
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
  const FrameLayout layout{.spacecraft_id = 42, .channel = 1};
  std::uint8_t frame_count = 0;
  const Bytes frame = make_frames(layout, FrameType::InSequence, insert, frame_count).at(0);
  Bytes unit;
  append_unit({}, frame, unit);
  station.address = 12;
  station.link.words = {.address_width = 5, .body_width = 9, .check = WordCheck::Complement, .repeats = 1};
  const Bytes words = load_words(station, {time, command, {{0.02, 20}, {3, 3}, {0, 0}}}, leap_seconds);
  for (const Bytes& bytes : {frame, unit, words, request, insert, delete_packet(station, 66, 68),
                             time_code(day_segmented, time, leap_seconds)}) {
    EXPECT_NE(text.find(spaced_hex(bytes)), std::string::npos)
        << "expected on the page: " << spaced_hex(bytes);
  }
}

}  // namespace
}  // namespace cairn
