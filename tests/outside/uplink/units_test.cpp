// Link units as a program in another language reads them: its CRC from that language's own library
// (binascii.crc_hqx), its BCH by division of whole numbers, its randomizer by the recurrence.

#include <gtest/gtest.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <memory>
#include <random>

#include "compiler/uplink/frame.h"
#include "compiler/uplink/link_unit.h"
#include "tests/place.h"

namespace cairn {
namespace {

std::string hex_of(const Bytes& bytes) {
  constexpr const char* digits = "0123456789abcdef";
  std::string text;
  for (const std::uint8_t octet : bytes) {
    text += digits[octet >> 4U];
    text += digits[octet & 15U];
  }
  return text;
}

TEST(UnitsElsewhere, GiveTheFramesThatWentIn) {
  if (std::system("command -v python3 >/dev/null 2>&1") != 0) {
    GTEST_SKIP() << "python3 is not installed; the link units were not read by other means";
  }
  std::string name = (std::filesystem::path(testing::TempDir()) / "cairn-units-XXXXXX").string();
  const int file = mkstemp(name.data());
  ASSERT_GE(file, 0);
  std::fclose(fdopen(file, "w"));
  std::mt19937 random(2310);
  std::vector<std::string> expected;
  std::ofstream out(name);
  for (int i = 0; i < 500; ++i) {
    const FrameLayout layout{.spacecraft_id = static_cast<std::uint16_t>(random() % 1024),
                             .channel = static_cast<std::uint8_t>(random() % 64),
                             .access_point = static_cast<std::uint8_t>(random() % 64),
                             .longest = 1024,
                             .segments = random() % 2 == 0,
                             .error_control = random() % 2 == 0};
    Bytes packets(1 + random() % 300);
    for (std::uint8_t& octet : packets) octet = static_cast<std::uint8_t>(random());
    auto count = static_cast<std::uint8_t>(random());
    const Bytes frame =
        make_frames(layout, random() % 2 == 0 ? FrameType::InSequence : FrameType::Bypass, packets, count)
            .at(0);
    const UnitLayout units{.randomized = random() % 2 == 0};
    Bytes unit;
    append_unit(units, frame, unit);
    out << (units.randomized ? "1 " : "0 ") << (layout.error_control ? "1 " : "0 ") << hex_of(unit) << '\n';
    expected.push_back(hex_of(frame));
  }
  out.close();
  const std::string command = std::string("python3 '") + test::source_folder() +
                              "/tests/outside/uplink/read_units.py' <'" + name + "'";
  struct Close {
    void operator()(FILE* pipe) const { pclose(pipe); }
  };
  std::vector<std::string> read;
  {
    const std::unique_ptr<FILE, Close> pipe(popen(command.c_str(), "r"));
    ASSERT_TRUE(pipe);
    std::string text;
    char buffer[4096];
    while (std::fgets(buffer, sizeof buffer, pipe.get()) != nullptr) text += buffer;
    std::size_t at = 0;
    for (std::size_t end; (end = text.find('\n', at)) != std::string::npos; at = end + 1) {
      read.push_back(text.substr(at, end - at));
    }
  }
  std::filesystem::remove(name);
  EXPECT_EQ(read, expected);
}

}  // namespace
}  // namespace cairn
